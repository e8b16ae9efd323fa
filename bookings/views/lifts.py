"""The page on which parties of one offering find a lift."""

from __future__ import annotations

from datetime import datetime

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from bookings.errors import NotShared
from bookings.lift_forms import LiftForm
from bookings.lifts import board_of, may_share
from bookings.models import Booking, LiftShare
from bookings.services.share_lifts import answer_lift, ask_for_lift, end_agreed, say_lift, take_lift_off
from bookings.views.by_link import by_link


@by_link
@require_http_methods(["GET", "HEAD", "POST"])
def booking_lifts(request: HttpRequest, booking: Booking, token: str, now: datetime) -> HttpResponse:
    """Say, ask, answer, take off: one button each."""
    form = LiftForm(request.POST if "send" in request.POST else None)
    if request.method == "POST" and _done(request, booking, form, now=now):
        return redirect("booking_lifts", token)
    mine = LiftShare.objects.select_related("booking").filter(booking=booking).first()
    context = {
        "booking": booking,
        "token": token,
        "form": form,
        "mine": mine,
        "board": mine and board_of(mine),
        "open": may_share(booking, now=now),
        "is_course": booking.offering.walks.count() > 1,
    }
    return render(request, "bookings/lifts.html", context, status=422 if form.errors else 200)


def _done(request: HttpRequest, booking: Booking, form: LiftForm, *, now: datetime) -> bool:
    """Carry out what was pressed; False where the form is to be shown again with its faults."""
    if form.is_bound and not form.is_valid():
        return False
    try:
        _carry_out(request.POST.get("do", ""), booking, form, now=now)
    except NotShared as refused:
        if form.is_bound:
            form.show(refused)
            return False
        messages.error(request, refused.sentence)
    return True


def _carry_out(pressed: str, booking: Booking, form: LiftForm, *, now: datetime) -> None:
    verb, _, other = pressed.partition(" ")
    if form.is_bound:
        say_lift(booking, form.words, by="participant", now=now)
    elif verb == "ask":
        ask_for_lift(booking, other, by="participant", now=now)
    elif verb in ("agree", "decline"):
        answer_lift(booking, other, agrees=verb == "agree", by="participant", now=now)
    elif verb == "end":
        end_agreed(booking, other, by="participant", now=now)
    elif verb == "off":
        take_lift_off(booking, by="participant", now=now)
