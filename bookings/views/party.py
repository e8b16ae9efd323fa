"""Changing the party and moving to another walk: the same pages for who booked, by link, and for the office."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from bookings.change_forms import MoveForm, PartyForm, TwoStepForm
from bookings.compute.refunds import ChangeTerms
from bookings.errors import NotChanged, NotMoved
from bookings.models import Booking, FormSent
from bookings.queries import currency_of, people_of
from bookings.services.change_party import change_party, possible_change
from bookings.services.move_booking import may_move, move_booking, possible_move
from bookings.views.by_link import by_link
from curriculum.queries import accounts_in_use
from foraywright.floor.acts import By
from foraywright.floor.door import names_act
from walks.models import Offering
from walks.queries import offering_slugs, programme, ratio_policy
from walks.shown import Listed, listed
from walks.views.guide import staff

CHANGEABLE = (Booking.State.CONFIRMED, Booking.State.WAITING)
Terms = Callable[[], ChangeTerms]
Act = Callable[[str, str], Booking]


@by_link
@require_http_methods(["GET", "HEAD", "POST"])
def booking_change(request: HttpRequest, booking: Booking, token: str, now: datetime) -> HttpResponse:
    """Who comes, changed by whoever booked."""
    return _change(request, booking, reverse("booking_page", args=[token]), by="participant", now=now)


@names_act("booking.change")
@require_http_methods(["GET", "HEAD", "POST"])
def staff_change(request: HttpRequest, code: str) -> HttpResponse:
    """The same by the office."""
    return _change(request, _of(code), reverse("staff_booking", args=[code]), by=staff(request), now=timezone.now())


@by_link
@require_http_methods(["GET", "HEAD", "POST"])
def booking_move(request: HttpRequest, booking: Booking, token: str, now: datetime) -> HttpResponse:
    """Another walk, chosen by whoever booked."""
    return _move(request, booking, reverse("booking_page", args=[token]), by="participant", now=now)


@names_act("booking.change")
@require_http_methods(["GET", "HEAD", "POST"])
def staff_move(request: HttpRequest, code: str) -> HttpResponse:
    """The same by the office."""
    return _move(request, _of(code), reverse("staff_booking", args=[code]), by=staff(request), now=timezone.now())


def _of(code: str) -> Booking:
    return get_object_or_404(Booking.objects.select_related("party__contact", "offering__theme"), code=code)


def _change(request: HttpRequest, booking: Booking, back: str, *, by: By, now: datetime) -> HttpResponse:
    if _was_done(request, booking) or booking.state not in CHANGEABLE:
        return redirect(back)
    people, bands = people_of(booking), ratio_policy(booking.offering.ratios).bands
    form = PartyForm(request.POST or None, booking=booking, people=people, bands=bands)
    context = {"booking": booking, "form": form, "back": back, "heading": "Change who comes"}
    if not form.is_valid():
        return _page(request, context, status=422 if form.is_bound else 200)
    change = form.change()

    def act(mark: str, key: str) -> Booking:
        return change_party(booking, change, terms=mark, key=key, by=by, now=now)

    return _two_steps(request, context, lambda: possible_change(booking, change, now=now), act)


def _move(request: HttpRequest, booking: Booking, back: str, *, by: By, now: datetime) -> HttpResponse:
    if _was_done(request, booking) or not may_move(booking, now=now):
        return redirect(back)
    choices = _others(booking, now=now)
    form = MoveForm(request.POST or None, choices=choices)
    context = {"booking": booking, "form": form, "back": back, "heading": "Move to another walk", "choices": choices}
    if not form.is_valid():
        return _page(request, context, status=422 if form.is_bound else 200)
    to = Offering.objects.select_related("prices").get(public_id=form.cleaned_data["to"])

    def act(mark: str, key: str) -> Booking:
        return move_booking(booking, to, terms=mark, key=key, by=by, now=now)

    return _two_steps(request, context, lambda: possible_move(booking, to, now=now), act)


def _was_done(request: HttpRequest, booking: Booking) -> bool:
    """Whether this very form was carried out before: then nothing is left to do, and nothing to complain of."""
    return FormSent.objects.filter(booking=booking, key=request.POST.get("key", "")).exists()


def _others(booking: Booking, *, now: datetime) -> list[Listed]:
    """What is on the programme, has not begun and shows places, but for the booked one."""
    offered = [one for one in programme(now=now) if one.pk != booking.offering_id]
    coming = [one for one in offered if one.state == Offering.State.PUBLISHED]
    rows = listed(coming, offering_slugs(), accounts_in_use(), now=now)
    return [one for one in rows if one.dates[0].start > now and one.left > 0]


def _two_steps(request: HttpRequest, context: dict[str, Any], terms: Terms, act: Act) -> HttpResponse:
    """Show the terms where the form came without them; else carry it out under those that it came with."""
    form: TwoStepForm = context["form"]
    mark = request.POST.get("terms")
    try:
        if mark:
            act(mark, form.cleaned_data["key"])
            messages.success(request, "That is done, and a letter is on its way.")
            return redirect(context["back"])
        return _page(request, context | {"terms": terms(), "currency": currency_of(context["booking"])}, status=200)
    except (NotChanged, NotMoved) as refused:
        for part in (refused.happened, *refused.why, refused.became, refused.now):
            if part:
                form.add_error(None, part)
        return _page(request, context, status=409)


def _page(request: HttpRequest, context: dict[str, Any], *, status: int) -> HttpResponse:
    return render(request, "bookings/two_steps.html", context, status=status)
