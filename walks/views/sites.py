"""Pages of office and guides on sites, landowners' permissions and cover."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime
from typing import Any

from django.contrib import messages
from django.core.files.storage import default_storage
from django.db.models import Max
from django.db.models.functions import Coalesce
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from curriculum.queries import vocabulary
from foraywright.floor.asking import Question, asks_once
from foraywright.floor.door import names_act
from foraywright.floor.models import AuditLine
from foraywright.floor.refusals import Refusal
from foraywright.floor.sorted_list import Column, sorted_list
from walks.guide_forms import HelpedForm
from walks.models import InsuranceCover, LandownersPermission, PermissionDocument, Site, SiteRoute, Walk
from walks.permissions import days_taken_in, walks_outside, walks_uninsured
from walks.services.attach_document import attach_document
from walks.services.remove_document import remove_document
from walks.services.save_cover import save_cover
from walks.services.save_permission import save_permission
from walks.services.save_route import end_route, save_route
from walks.services.save_site import save_site
from walks.site_forms import CoverForm, DocumentForm, PermissionForm, RouteForm, SiteForm
from walks.site_routes import route_drawing, route_facts, route_profile
from walks.views.guide import staff

FORM = ["GET", "HEAD", "POST"]
SITE_COLUMNS = (
    Column("Site", ("folded",)),
    Column("Meeting point"),
    Column("On the map"),
    Column("Permission", ("permitted_to",)),
    Column("Most people", ("most_people",), number=True),
)
COVER_COLUMNS = (
    Column("Policy", ("policy_number",)),
    Column("Insurer", ("insurer", "valid_to")),
    Column("From", ("valid_from",)),
    Column("To", ("valid_to",)),
    Column("Most participants", ("most_people",), number=True),
)


def done(request: HttpRequest, form: HelpedForm, act: Callable[[], str]) -> bool:
    """Carry out `act` where the form was sent and is valid, and say what it says; a refusal stands at its field."""
    if request.method != "POST" or not form.is_valid():
        return False
    try:
        messages.success(request, act())
    except Refusal as refused:
        form.show(refused)
        return False
    return True


def form_page(request: HttpRequest, template: str, form: HelpedForm, **context: Any) -> HttpResponse:
    """A page with a form: 422 where something in it needs another look."""
    return render(request, template, {"form": form, **context}, status=422 if form.errors else 200)


@names_act("site.see")
@require_safe
def staff_sites(request: HttpRequest) -> HttpResponse:
    """All sites with their permissions; one without sorts as if it had ended long ago. Three queries."""
    permitted_to = Coalesce(Max("permissions__valid_to"), date.min)
    sites = Site.objects.annotate(permitted_to=permitted_to).prefetch_related("permissions")
    found, today = sorted_list(request, sites, SITE_COLUMNS, first="site"), timezone.localdate()
    context = {"page": found.page, "heads": found.heads, "rows": [_row(one, today) for one in found.page]}
    return render(request, "walks/staff_sites.html", context)


def _row(site: Site, today: date) -> dict[str, Any]:
    papers = sorted(site.permissions.all(), key=lambda one: one.valid_to)
    return {
        "site": site,
        "last": papers[-1] if papers else None,
        "open": any(one.rule.open_on(today) for one in papers),
    }


@names_act("site.see")
@require_safe
def staff_site(request: HttpRequest, public_id: str) -> HttpResponse:
    """One site with its permissions and the walks to come there."""
    now = timezone.now()
    site = get_object_or_404(Site, public_id=public_id)
    return render(request, "walks/staff_site.html", _site_context(site, now=now) | {"form": _route_form(site)})


def _route_form(site: Site) -> RouteForm:
    return RouteForm(address=reverse("staff_site_route", args=[site.public_id]))


def _site_context(site: Site, *, now: datetime) -> dict[str, Any]:
    characters = vocabulary().characters
    coming = Walk.objects.filter(site=site, ends_at__gt=now, called_off_at=None).select_related("offering")
    return {
        "site": site,
        "habitats": [characters["habitat"].states[one].label for one in site.habitats],
        "trees": [characters["host"].states[one].label for one in site.host_trees],
        "hazards": [one.replace("_", " ") for one in site.hazards],
        "permissions": [
            {"permission": one, "ended": one.valid_to < timezone.localdate(now)}
            for one in site.permissions.order_by("-valid_to").prefetch_related("documents")
        ],
        "taken": days_taken_in(site, timezone.localdate(now).year),
        "year": timezone.localdate(now).year,
        "route": route_facts(site),
        "drawing": route_drawing(site),
        "profile": route_profile(site),
        "walks": coming[:20],
        "history": AuditLine.objects.filter(object_id=site.public_id).order_by("at"),
    }


@names_act("site.edit")
@require_POST
def staff_site_route(request: HttpRequest, public_id: str) -> HttpResponse:
    """Keep a recorded route, or say why not."""
    site = get_object_or_404(Site, public_id=public_id)
    form = RouteForm(request.POST, request.FILES, address=request.path)
    now = timezone.now()

    def keep() -> str:
        given = form.cleaned_data
        save_route(site, given["gpx"].read(), name=given["name"], by=staff(request), now=now)
        return "The route is kept."

    if done(request, form, keep):
        return redirect("staff_site", public_id)
    return render(request, "walks/staff_site.html", _site_context(site, now=now) | {"form": form}, status=422)


@names_act("site.edit")
@require_POST
def staff_site_route_end(request: HttpRequest, public_id: str) -> HttpResponse:
    """Take the route off the site."""
    end_route(get_object_or_404(Site, public_id=public_id), by=staff(request), now=timezone.now())
    messages.success(request, "The site has no route now.")
    return redirect("staff_site", public_id)


@names_act("site.see")
@require_safe
def staff_site_gpx(request: HttpRequest, public_id: str) -> HttpResponse:
    """The current route as a cleaned GPX file."""
    row = get_object_or_404(SiteRoute, site__public_id=public_id, current=True)
    disposition = f'attachment; filename="route-{row.public_id}.gpx"'
    return HttpResponse(row.gpx, content_type="application/gpx+xml", headers={"Content-Disposition": disposition})


@names_act("site.edit")
@require_http_methods(FORM)
def staff_site_new(request: HttpRequest) -> HttpResponse:
    """Add a site."""
    return _site_form(request, None)


@names_act("site.edit")
@require_http_methods(FORM)
def staff_site_edit(request: HttpRequest, public_id: str) -> HttpResponse:
    """Change a site."""
    return _site_form(request, get_object_or_404(Site, public_id=public_id))


def _site_form(request: HttpRequest, site: Site | None) -> HttpResponse:
    form = SiteForm(request.POST or None, site=site)
    saved: list[Site] = []

    def save() -> str:
        given = form.cleaned_data
        places = {"reference": given["reference"], "ground": given["ground"], "why": given["why"]}
        saved.append(save_site(form.facts(), **places, site=site, by=staff(request), now=timezone.now()))
        return "The site is saved."

    if done(request, form, save):
        return redirect("staff_site", saved[0].public_id)
    return form_page(request, "walks/staff_site_form.html", form, site=site)


@names_act("site.edit")
@require_http_methods(FORM)
def staff_permission_new(request: HttpRequest, public_id: str) -> HttpResponse:
    """Record a landowner's permission."""
    return _permission_form(request, get_object_or_404(Site, public_id=public_id), None)


@names_act("site.edit")
@require_http_methods(FORM)
def staff_permission(request: HttpRequest, public_id: str) -> HttpResponse:
    """Put a permission right, and see its documents."""
    permission = _permission_or_404(public_id)
    return _permission_form(request, permission.site, permission)


def _permission_or_404(public_id: str) -> LandownersPermission:
    return get_object_or_404(LandownersPermission.objects.select_related("site"), public_id=public_id)


def _permission_form(request: HttpRequest, site: Site, permission: LandownersPermission | None) -> HttpResponse:
    form = PermissionForm(request.POST or None, permission=permission)

    def save() -> str:
        save_permission(site, form.cleaned_data, permission=permission, by=staff(request), now=timezone.now())
        return "The permission is saved."

    if done(request, form, save):
        _say_what_lies_outside(request, site)
        return redirect("staff_site", site.public_id)
    address = reverse("staff_permission_attach", args=[permission.public_id]) if permission else ""
    context = {"site": site, "permission": permission, "document_form": DocumentForm(address=address)}
    return form_page(request, "walks/staff_permission.html", form, **context)


def _say_what_lies_outside(request: HttpRequest, site: Site) -> None:
    for walk, reasons in walks_outside(now=timezone.now(), site=site):
        messages.warning(request, f"“{walk.offering.title}” is published, but: {' '.join(reasons)}")


@names_act("site.edit")
@require_POST
def staff_permission_attach(request: HttpRequest, public_id: str) -> HttpResponse:
    """Attach the landowner's letter."""
    permission = _permission_or_404(public_id)
    document_form = DocumentForm(request.POST, request.FILES, address=request.path)

    def attach() -> str:
        content = document_form.cleaned_data["document"].read()
        attach_document(permission, content, by=staff(request), now=timezone.now())
        return "The document is attached."

    if done(request, document_form, attach):
        return redirect("staff_permission", public_id)
    context = {
        "site": permission.site,
        "permission": permission,
        "form": PermissionForm(permission=permission),
        "document_form": document_form,
    }
    return render(request, "walks/staff_permission.html", context, status=422)


@names_act("site.see")
@never_cache
@require_safe
def staff_document(request: HttpRequest, public_id: str) -> FileResponse:
    """A permission's document, as a download only: nothing that somebody sent is ever shown as a page of ours."""
    document = get_object_or_404(PermissionDocument, public_id=public_id)
    try:
        content = default_storage.open(document.stored_as)
    except FileNotFoundError as missing:
        raise Http404 from missing
    return FileResponse(content, as_attachment=True, filename=f"permission-{document.public_id}.{document.kind}")


@names_act("site.edit")
@require_POST
def staff_document_remove(request: HttpRequest, public_id: str) -> HttpResponse:
    """Erase a document."""
    document = get_object_or_404(PermissionDocument.objects.select_related("permission"), public_id=public_id)
    back = reverse("staff_permission", args=[document.permission.public_id])
    will = "The file is deleted here; copies in backups go as those run out. The permission itself stays."
    if page := asks_once(request, Question("Erase the landowner’s letter?", will, "Erase it", back)):
        return page
    remove_document(document, by=staff(request), now=timezone.now())
    messages.success(request, "The document is erased.")
    return redirect("staff_permission", document.permission.public_id)


@names_act("site.see")
@require_safe
def staff_covers(request: HttpRequest) -> HttpResponse:
    """The insurance covers, and walks to come that have none."""
    covers = sorted_list(request, InsuranceCover.objects.all(), COVER_COLUMNS, first="-to")
    context = {
        "page": covers.page,
        "heads": covers.heads,
        "today": timezone.localdate(),
        "uninsured": walks_uninsured(now=timezone.now()),
    }
    return render(request, "walks/staff_covers.html", context)


@names_act("site.edit")
@require_http_methods(FORM)
def staff_cover_new(request: HttpRequest) -> HttpResponse:
    """Record a cover."""
    return _cover_form(request, None)


@names_act("site.edit")
@require_http_methods(FORM)
def staff_cover(request: HttpRequest, public_id: str) -> HttpResponse:
    """Put a cover right."""
    return _cover_form(request, get_object_or_404(InsuranceCover, public_id=public_id))


def _cover_form(request: HttpRequest, cover: InsuranceCover | None) -> HttpResponse:
    form = CoverForm(request.POST or None, cover=cover)

    def save() -> str:
        save_cover(form.cleaned_data, cover=cover, by=staff(request), now=timezone.now())
        return "The cover is saved."

    if done(request, form, save):
        return redirect("staff_covers")
    return form_page(request, "walks/staff_cover.html", form, cover=cover)
