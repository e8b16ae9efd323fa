"""Pages on which office and guides schedule and publish."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from foraywright.floor.asking import Question, asks_once
from foraywright.floor.door import names_act
from foraywright.floor.models import User
from foraywright.floor.telling import telling
from walks.errors import WalkNotScheduled
from walks.forms import ScheduleWalkForm
from walks.models import Offering
from walks.services.publish_walk import publish_walk
from walks.services.schedule_walk import schedule_walk


@names_act("walk.schedule")
@require_http_methods(["GET", "HEAD", "POST"])
def staff_schedule(request: HttpRequest) -> HttpResponse:
    """The one form of a walk; what it refuses stands at its field, and nothing typed is lost."""
    form = ScheduleWalkForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            offering = schedule_walk(form.plan(), by=staff(request), now=timezone.now())
        except WalkNotScheduled as refused:
            form.show(refused)
        else:
            messages.success(request, "The walk is a draft. This is what follows from it.")
            return redirect("staff_walk", offering.public_id)
    return render(request, "walks/staff_schedule.html", {"form": form}, status=422 if form.errors else 200)


@names_act("walk.publish")
@require_POST
def staff_publish(request: HttpRequest, public_id: str) -> HttpResponse:
    """Publish a draft, or say everything that stands against it."""
    offering = get_object_or_404(Offering, public_id=public_id)
    if offering.state == Offering.State.DRAFT and (page := asks_once(request, _publishing(offering))):
        return page
    with telling(request, "The walk is on the public programme."):
        publish_walk(offering, by=staff(request), now=timezone.now())
    return redirect("staff_walk", public_id)


def _publishing(offering: Offering) -> Question:
    will = (
        "It stands on the programme and in the calendars that people follow, and its places are sold. It does not "
        "become a draft again: a later change is told to everybody who booked, and calling it off pays them back."
    )
    return Question(
        f"Publish “{offering.title}”?", will, "Publish it", reverse("staff_walk", args=[offering.public_id])
    )


def staff(request: HttpRequest) -> User:
    """The staff account that acts; the door has let nobody else in."""
    assert isinstance(request.user, User)
    return request.user
