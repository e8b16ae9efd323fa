"""Pages on which office and guides keep the themes."""

from __future__ import annotations

from django.contrib import messages
from django.db.models import Count
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from foraywright.floor.door import names_act
from walks.models import Theme
from walks.services.save_theme import save_theme
from walks.theme_forms import ThemeForm
from walks.views.guide import staff

FACTS = ("name", "lead", "audience", "activities")


@names_act("walk.schedule")
@require_safe
def staff_themes(request: HttpRequest) -> HttpResponse:
    """All themes, with how much each teaches and how often it was offered."""
    themes = Theme.objects.annotate(
        teaches=Count("theme_taxa", distinct=True), offered=Count("offerings", distinct=True)
    )
    return render(request, "walks/staff_themes.html", {"themes": themes})


@names_act("walk.schedule")
@require_http_methods(["GET", "HEAD", "POST"])
def staff_theme_new(request: HttpRequest) -> HttpResponse:
    """Add a theme."""
    return _form(request, None)


@names_act("walk.schedule")
@require_http_methods(["GET", "HEAD", "POST"])
def staff_theme(request: HttpRequest, public_id: str) -> HttpResponse:
    """Change a theme."""
    return _form(request, get_object_or_404(Theme, public_id=public_id))


def _form(request: HttpRequest, theme: Theme | None) -> HttpResponse:
    form = ThemeForm(request.POST or None, initial=_facts_of(theme), theme=theme)
    if request.method == "POST" and form.is_valid():
        facts = {field: form.cleaned_data[field] for field in FACTS}
        save_theme(facts, form.cleaned_data["taxa"], theme=theme, by=staff(request), now=timezone.now())
        messages.success(request, f"The theme “{facts['name']}” is kept.")
        return redirect("staff_themes")
    context = {"form": form, "theme": theme}
    return render(request, "walks/staff_theme.html", context, status=422 if form.errors else 200)


def _facts_of(theme: Theme | None) -> dict[str, object]:
    if theme is None:
        return {}
    taxa = theme.theme_taxa.values_list("taxon__key", flat=True)
    return {field: getattr(theme, field) for field in FACTS} | {"taxa": list(taxa)}
