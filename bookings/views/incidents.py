"""The log of incidents and near misses: of one walk, one report, and all of them for the office."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from bookings.errors import IncidentNotKept
from bookings.incident_forms import IncidentForm, ToDoForm
from bookings.models import FollowUp, Incident
from bookings.reporting import law_of
from bookings.services.look_at_declarations import look_at_incident
from bookings.services.report_incident import add_follow_up, report_incident
from bookings.services.settle_follow_up import end_lasting, settle_follow_up
from bookings.views.by_link import kept_from_others
from foraywright.floor.door import names_act, require
from foraywright.floor.models import Business
from foraywright.floor.sorted_list import Column, sorted_list
from walks.models import Walk
from walks.views.documents import session_or_404, subject_of
from walks.views.guide import staff

COLUMNS = (
    Column("What", ("kind", "at")),
    Column("When", ("at",)),
    Column("Where", ("walk__site__name", "at")),
    Column("Walk", ("walk__offering__title", "at")),
)

SETTLED = {
    "done": "It is done, and leaves the risk assessments of the site.",
    "lasts": "It is done, and stays in the risk assessments of the site: read and sign them anew.",
    "ended": "It no longer stands in the risk assessments of the site.",
}


@names_act("incident.keep")
@require_http_methods(["GET", "HEAD", "POST"])
def staff_walk_incidents(request: HttpRequest, public_id: str, number: int) -> HttpResponse:
    """What was reported of the walk; report another here."""
    walk = session_or_404(public_id, number)
    require(request, "incident.keep", subject_of(walk))
    form = IncidentForm(request.POST or None, walk=walk)
    if request.method == "POST" and form.is_valid() and (made := _report(request, walk, form)):
        return redirect("staff_incident", made.public_id)
    context = {"walk": walk, "incidents": walk.incidents.all(), "form": form}
    return render(request, "bookings/staff_walk_incidents.html", context, status=422 if form.errors else 200)


def _report(request: HttpRequest, walk: Walk, form: IncidentForm) -> Incident | None:
    try:
        return report_incident(walk, form.report(), by=staff(request), now=timezone.now())
    except IncidentNotKept as refused:
        form.add_error("at", refused.sentence)
        return None


@names_act("incident.keep")
@require_http_methods(["GET", "HEAD", "POST"])
def staff_incident(request: HttpRequest, public_id: str) -> HttpResponse:
    """One report, what the law may ask, and what follows; add a follow-up here."""
    incident = get_object_or_404(Incident.objects.select_related("walk__site", "walk__offering"), public_id=public_id)
    require(request, "incident.keep", subject_of(incident.walk))
    form = ToDoForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        add_follow_up(incident, form.to_do(), by=staff(request), now=timezone.now())
        messages.success(request, "Added. It stands in the risk assessments of the site until it is done.")
        return redirect("staff_incident", public_id)
    context = {
        "incident": incident,
        "people": look_at_incident(incident, by=staff(request), now=timezone.now()),
        "follow_ups": incident.follow_ups.select_related("owner", "done_by"),
        "law": law_of(Business.objects.get().jurisdiction, incident.at.astimezone(incident.walk.clock).date()),
        "form": form,
    }
    return kept_from_others(
        render(request, "bookings/staff_incident.html", context, status=422 if form.errors else 200)
    )


@names_act("incident.keep")
@require_POST
def staff_follow_up_done(request: HttpRequest, public_id: str) -> HttpResponse:
    """Say that a follow-up is done, once for all or on every walk from now on; or that it is no longer done there."""
    follow_up = get_object_or_404(FollowUp.objects.select_related("incident__walk"), public_id=public_id)
    require(request, "incident.keep", subject_of(follow_up.incident.walk))
    said = request.POST.get("said", "done")
    if said == "ended":
        end_lasting(follow_up, by=staff(request), now=timezone.now())
    else:
        settle_follow_up(follow_up, lasts=said == "lasts", by=staff(request), now=timezone.now())
    messages.success(request, SETTLED.get(said, SETTLED["done"]))
    return redirect("staff_incident", follow_up.incident.public_id)


@names_act("incident.list")
@require_safe
def staff_incidents(request: HttpRequest) -> HttpResponse:
    """Every report, the newest first, and what is still open."""
    still_open = FollowUp.objects.filter(done_at=None).select_related("incident__walk__site", "owner")
    incidents = Incident.objects.select_related("walk__site", "walk__offering")
    reports = sorted_list(request, incidents, COLUMNS, first="-when")
    context = {"page": reports.page, "heads": reports.heads, "still_open": still_open}
    return render(request, "bookings/staff_incidents.html", context)
