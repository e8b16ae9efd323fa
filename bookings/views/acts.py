"""The audit as the office reads it: who did what to which object, when and why; never a value of a personal field."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime, time, timedelta
from typing import Any

from crispy_forms.layout import Layout, Submit
from django import forms
from django.core.paginator import Paginator
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from bookings.models import Booking
from foraywright.floor.door import names_act
from foraywright.floor.models import AuditLine, User
from walks.form_base import FilterForm, day_input

A_PAGE = 60
PAGES: dict[str, Callable[[str], str]] = {
    "Offering": lambda key: reverse("staff_walk", args=[key]),
    "Site": lambda key: reverse("staff_site", args=[key]),
    "Guide": lambda key: reverse("staff_guide", args=[key]),
    "Theme": lambda key: reverse("staff_theme", args=[key]),
    "User": lambda key: reverse("staff_person", args=[key]),
}


class ActsFilter(FilterForm):
    """What the audit is narrowed to."""

    act = forms.ChoiceField(required=False)
    actor = forms.ChoiceField(label="Who", required=False)
    object = forms.CharField(label="Object", required=False, max_length=20, help_text="Its id, as the lines give it")
    first = forms.DateField(label="From", required=False, widget=day_input())
    last = forms.DateField(label="To", required=False, widget=day_input())

    def __init__(self, *args: Any, names: dict[str, str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        lines = AuditLine.objects.order_by()
        acts = sorted(lines.values_list("act", flat=True).distinct())
        actors = sorted((names.get(one, one), one) for one in lines.values_list("actor", flat=True).distinct())
        self.fields["act"].choices = [("", "any"), *((one, one) for one in acts)]  # type: ignore[attr-defined]
        self.fields["actor"].choices = [("", "anybody"), *((key, name) for name, key in actors)]  # type: ignore[attr-defined]

    def layout(self) -> Layout:
        return Layout("act", "actor", "object", "first", "last", Submit("", "Show"))

    def lines(self) -> QuerySet[AuditLine]:
        """The lines that the cleaned filter leaves, newest first. No query."""
        given = self.cleaned_data
        wanted = {
            "act": given.get("act"),
            "actor": given.get("actor"),
            "object_id": given.get("object"),
            "at__gte": _midnight(given.get("first"), 0),
            "at__lt": _midnight(given.get("last"), 1),
        }
        lines = AuditLine.objects.select_related("words")
        return lines.filter(**{name: value for name, value in wanted.items() if value}).order_by("-pk")


def _midnight(day: Any, days_later: int) -> datetime | None:
    return timezone.make_aware(datetime.combine(day + timedelta(days=days_later), time())) if day else None


@names_act("looks.see")
@require_safe
def staff_acts(request: HttpRequest) -> HttpResponse:
    """Every act, newest first, narrowed by act, actor, object and day. Seven queries, whatever its length."""
    names = {one.public_id: str(one) for one in User.objects.all()}
    form = ActsFilter(request.GET, names=names)
    lines = form.lines() if form.is_valid() else AuditLine.objects.none()
    page = Paginator(lines, A_PAGE).get_page(request.GET.get("page"))
    context = {"form": form, "page": page, "rows": _rows(list(page.object_list), names)}
    return render(request, "bookings/staff_acts.html", context, status=422 if form.errors else 200)


def _rows(lines: Sequence[AuditLine], names: dict[str, str]) -> list[dict[str, Any]]:
    """The lines with who acted and where the object's page is. One query."""
    wanted = [one.object_id for one in lines if one.object_kind == "Booking"]
    codes = dict(Booking.objects.filter(public_id__in=wanted).values_list("public_id", "code"))
    return [{"line": one, "who": names.get(one.actor, one.actor), "page": _page_of(one, codes)} for one in lines]


def _page_of(line: AuditLine, codes: dict[str, str]) -> str:
    if line.object_kind == "Booking":
        code = codes.get(line.object_id)
        return reverse("staff_booking", args=[code]) if code else ""
    return PAGES[line.object_kind](line.object_id) if line.object_kind in PAGES else ""
