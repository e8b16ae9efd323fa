"""The register as a page on the guide's phone, with signal; without it see register_copies.py."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from uuid import uuid4, uuid5

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponseBase, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from bookings.attendance import Attendee, history_of, marked_without_place
from bookings.errors import NotShown
from bookings.models import AttendanceMark, Look
from bookings.queries import people_on
from bookings.register import HERE, register_of
from bookings.services.look_at_declarations import look_at_declaration
from bookings.services.mark_attendance import Tick, mark_attendance
from bookings.views.attendance import key_of
from bookings.views.by_link import kept_from_others
from foraywright.floor.asking import Question, asks_once
from foraywright.floor.door import actor_of, names_act, require
from foraywright.floor.telling import telling
from walks.models import WalkGuide, WalkStart
from walks.services.say_who_guides import say_who_guides
from walks.services.take_the_lead import take_the_lead
from walks.views.documents import session_or_404, subject_of
from walks.views.guide import staff

LEADING = (
    "{} leads from now on and answers for the walk, and whoever led guides should they still come. It is written down "
    "with your name. The risk assessment names who leads: an addition or a new version is signed, and the weather "
    "decided, by the new leading guide before the start."
)


@names_act("walk.mark_attendance")
@require_http_methods(["GET", "HEAD", "POST"])
def staff_day_register(request: HttpRequest, public_id: str, number: int) -> HttpResponseBase:
    """Who is here, one press a person; head count and limits with those who came."""
    walk, now = session_or_404(public_id, number), timezone.now()
    require(request, "walk.mark_attendance", subject_of(walk))
    register, without_place = register_of(walk), [one for one in marked_without_place(walk) if one.standing in HERE]
    if request.method == "POST":
        shown = [*(one.attendee for one in register.people), *without_place]
        with telling(request):
            mark_attendance(walk, _ticks(request.POST, shown, now=now), by=staff(request), now=now)
        return redirect("staff_day_register", public_id, number)
    ours = list(walk.walk_guides.select_related("guide").order_by("pk"))
    started = WalkStart.objects.filter(walk=walk).first()
    context = {
        "walk": walk,
        "start": walk.local_start,
        "register": register,
        "without_place": without_place,
        "form_key": uuid4(),
        "ours": ours,
        "leaderless": not started and any(one.role == WalkGuide.Role.LEADS and one.missing_since for one in ours),
        "started": started,
        "copies": walk.register_copies.filter(kept_until__gt=now).select_related("taken_by"),
    }
    return kept_from_others(render(request, "bookings/staff_day_register.html", context))


def _ticks(sent: QueryDict, shown: Sequence[Attendee], *, now: datetime) -> list[Tick]:
    """The pressed button as a tick. It settles only where all marks of the person were on the page that was sent.

    The event follows from the form and the button: the same form sent twice is one mark.
    """
    person, _, state = sent.get("tick", "").partition(" ")
    ticks = []
    for one in shown:
        if one.place.person.public_id == person and state in AttendanceMark.State.values:
            in_sight = sent.get(f"marks-{person}") == str(len(one.place.marks.all()))
            ticks.append(
                Tick(uuid5(key_of(sent.get("form_key", "")), f"{person} {state}"), person, state, now, in_sight)
            )
    return ticks


@names_act("walk.mark_attendance")
@require_POST
def staff_day_guide(request: HttpRequest, public_id: str, number: int, guide: str) -> HttpResponseBase:
    """Say that one of our own did not come, or is here after all: limits and heads count who is there."""
    walk = session_or_404(public_id, number)
    require(request, "walk.mark_attendance", subject_of(walk))
    outing = get_object_or_404(walk.walk_guides.select_related("guide"), guide__public_id=guide)
    with telling(request):
        say_who_guides(outing, here=request.POST.get("here") == "yes", by=staff(request), now=timezone.now())
    return redirect("staff_day_register", public_id, number)


@names_act("walk.lead")
@require_POST
def staff_day_lead(request: HttpRequest, public_id: str, number: int, guide: str) -> HttpResponseBase:
    """Let this guide lead in place of one who did not come."""
    walk = session_or_404(public_id, number)
    require(request, "walk.lead", subject_of(walk))
    outing = get_object_or_404(walk.walk_guides.select_related("guide"), guide__public_id=guide)
    back = reverse("staff_day_register", args=[public_id, number])
    question = Question(f"Does {outing.guide} lead this walk?", LEADING.format(outing.guide), "Yes, they lead", back)
    if page := asks_once(request, question):
        return page
    with telling(request, f"{outing.guide} leads. Sign the addition, decide on the weather, then start."):
        take_the_lead(outing, by=staff(request), now=timezone.now())
    return redirect("staff_on_the_day", public_id, number)


@names_act("walk.mark_attendance")
@require_safe
def staff_register_history(request: HttpRequest, public_id: str, number: int) -> HttpResponseBase:
    """Every mark, by whom and on which device."""
    walk = session_or_404(public_id, number)
    require(request, "walk.mark_attendance", subject_of(walk))
    context = {"walk": walk, "start": walk.local_start, "rows": history_of(walk)}
    return kept_from_others(render(request, "bookings/staff_register_history.html", context))


@names_act("declaration.see")
@require_safe
def staff_emergency(request: HttpRequest, public_id: str, number: int, person: str) -> HttpResponseBase:
    """Whom to ring for one person. The look is written down."""
    walk, now = session_or_404(public_id, number), timezone.now()
    require(request, "declaration.see", subject_of(walk))
    whose = next((one for one in people_on(walk, now=now) if one.public_id == person), None)
    if whose is None:
        raise Http404("Nobody of that kind comes to this walk.")
    office = "office" in actor_of(request).roles
    try:
        found = look_at_declaration(whose, walk, by=staff(request), office=office, now=now, what=Look.What.EMERGENCY)
    except NotShown as refused:
        messages.error(request, refused.sentence)
        return redirect("staff_day_register", public_id, number)
    context = {"walk": walk, "person": whose, "declared": found}
    return kept_from_others(render(request, "bookings/staff_emergency.html", context))
