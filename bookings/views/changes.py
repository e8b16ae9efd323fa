"""Pages on which a walk or course that there is gets another time, place, people or content."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from bookings.queries import live_bookings
from bookings.services.change_walk import change_walk
from foraywright.floor.asking import Question, asks_once
from foraywright.floor.compute.clock_words import day_words
from foraywright.floor.compute.permissions import Subject
from foraywright.floor.door import names_act, require
from foraywright.floor.telling import telling
from walks.errors import WalkNotChanged
from walks.models import Offering, Walk
from walks.services.add_session import add_session
from walks.services.remove_session import remove_session
from walks.services.revise_offering import revise_offering
from walks.services.sessions import Session, session_of
from walks.session_forms import ChangeSessionForm, ContentForm, OfferingForm
from walks.views.documents import session_or_404, subject_of
from walks.views.guide import staff

FORM = ["GET", "HEAD", "POST"]
TOLD = "The walk is changed. Whoever booked will be told."
CONTENT = "What we cover that day has changed."
SAVED = "The draft is changed."


@names_act("walk.change")
@require_http_methods(FORM)
def staff_session_change(request: HttpRequest, public_id: str, number: int) -> HttpResponse:
    """Another time, place or people for one session."""
    walk = _session(request, public_id, number)
    now, before = timezone.now(), session_of(walk)
    told = walk.offering.state == Offering.State.PUBLISHED
    form = ChangeSessionForm(request.POST or None, told=told, initial=ChangeSessionForm.of(before))
    if request.method == "POST" and form.is_valid():
        content = {name: getattr(before, name) for name in ("heading", "theme", "covers", "points")}
        if _changed(request, walk, form.session(**content), form, why=form.reason):
            return redirect("staff_walk", public_id)
    context = {"form": form, "walk": walk, "told": live_bookings(walk.offering, now=now) if told else []}
    return render(request, "bookings/staff_session_change.html", context, status=422 if form.errors else 200)


@names_act("walk.change")
@require_http_methods(FORM)
def staff_session_content(request: HttpRequest, public_id: str, number: int) -> HttpResponse:
    """What the curriculum covers in one session."""
    walk = _session(request, public_id, number)
    before = session_of(walk)
    initial = {"heading": before.heading, "theme": before.theme, "covers": before.covers, "points": before.points}
    form = ContentForm(request.POST or None, initial=initial)
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data
        after = replace(before, **(given | {"covers": tuple(given["covers"])}))
        if _changed(request, walk, after, form, why=CONTENT):
            return redirect("staff_walk", public_id)
    context = {"form": form, "walk": walk}
    return render(request, "bookings/staff_session_content.html", context, status=422 if form.errors else 200)


def _changed(request: HttpRequest, walk: Walk, session: Session, form: Any, *, why: str) -> bool:
    try:
        change_walk(walk, session, why=why, by=staff(request), now=timezone.now())
    except WalkNotChanged as refused:
        form.show_fields(refused.fields)
        return False
    messages.success(request, TOLD if walk.offering.state == Offering.State.PUBLISHED else SAVED)
    return True


@names_act("walk.change")
@require_http_methods(FORM)
def staff_session_new(request: HttpRequest, public_id: str) -> HttpResponse:
    """One more session of a draft, as like the last as can be."""
    offering = _offering(request, public_id)
    last = session_of(offering.walks.select_related("site", "theme").latest("number"))
    form = ChangeSessionForm(request.POST or None, told=False, initial=ChangeSessionForm.of(last))
    if request.method == "POST" and form.is_valid():
        try:
            add_session(offering, form.session(), by=staff(request), now=timezone.now())
        except WalkNotChanged as refused:
            form.show_fields(refused.fields)
        else:
            messages.success(request, "The session is added.")
            return redirect("staff_walk", public_id)
    context = {"form": form, "offering": offering}
    return render(request, "bookings/staff_session_new.html", context, status=422 if form.errors else 200)


@names_act("walk.change")
@require_POST
def staff_session_remove(request: HttpRequest, public_id: str, number: int) -> HttpResponse:
    """Take a session out of a draft."""
    walk = _session(request, public_id, number)
    will = f"The session of {day_words(walk.local_date)} is deleted from the draft, with what was written of it."
    back = reverse("staff_walk", args=[public_id])
    if page := asks_once(request, Question("Take this session out?", will, "Take it out", back)):
        return page
    with telling(request, "The session is taken out; the others are numbered anew."):
        remove_session(walk, by=staff(request), now=timezone.now())
    return redirect("staff_walk", public_id)


@names_act("walk.change")
@require_http_methods(FORM)
def staff_offering_edit(request: HttpRequest, public_id: str) -> HttpResponse:
    """Title, lead and what is asked of an offering as a whole."""
    offering = _offering(request, public_id)
    form = OfferingForm(request.POST or None, initial=OfferingForm.of(offering))
    if request.method == "POST" and form.is_valid():
        try:
            revise_offering(offering, form.cleaned_data, by=staff(request), now=timezone.now())
        except WalkNotChanged as refused:
            form.show_fields(refused.fields)
        else:
            messages.success(request, "It is saved.")
            return redirect("staff_walk", public_id)
    context = {"form": form, "offering": offering}
    return render(request, "bookings/staff_offering_edit.html", context, status=422 if form.errors else 200)


def _session(request: HttpRequest, public_id: str, number: int) -> Walk:
    walk = session_or_404(public_id, number)
    require(request, "walk.change", subject_of(walk))
    return walk


def _offering(request: HttpRequest, public_id: str) -> Offering:
    offering = get_object_or_404(Offering, public_id=public_id)
    guides = offering.walks.values_list("guides__public_id", flat=True)
    require(request, "walk.change", Subject(guides=frozenset(one for one in guides if one)))
    return offering
