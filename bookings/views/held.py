"""Buttons on a booking's page: for places that are held, and after we called the walk off."""

from __future__ import annotations

from datetime import datetime

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_POST

from bookings.models import Booking
from bookings.queries import awaiting_choice, currency_of
from bookings.services.choose_after_call_off import choose_refund
from bookings.services.confirm_hold import confirm_hold
from bookings.services.extend_hold import extend_hold
from bookings.views.by_link import by_link
from foraywright.floor.asking import Question, asks_anew, asks_once
from foraywright.floor.compute.money import as_text
from foraywright.floor.ids import new_secret
from foraywright.floor.telling import telling


@by_link
@require_POST
def booking_confirm(request: HttpRequest, booking: Booking, token: str, now: datetime) -> HttpResponse:
    """Book what is held, or take an offer."""
    with telling(request, "The places are yours. A letter is on its way."):
        confirm_hold(booking, by="participant", now=now)
    return redirect("booking_page", token)


@by_link
@require_POST
def booking_extend(request: HttpRequest, booking: Booking, token: str, now: datetime) -> HttpResponse:
    """Twenty minutes more. A form without its key counts as a new one."""
    key = request.POST.get("key", "")[:40] or new_secret()
    with telling(request, "The places are held for longer."):
        extend_hold(booking, key=key, by="participant", now=now)
    return redirect("booking_page", token)


@by_link
@require_POST
@asks_anew
def booking_refund(request: HttpRequest, booking: Booking, token: str, now: datetime) -> HttpResponse:
    """The money back, after we called the walk off."""
    waits = awaiting_choice(booking)
    amount = as_text(waits, currency_of(booking))
    will = f"{amount} goes back the way that you paid it. This booking is then over; you can book anew."
    back = reverse("booking_page", args=[token])
    if page := asks_once(request, Question("Have the money back?", will, "Money back", back)):
        return page
    with telling(request, "The money goes back the way that it was paid. You need do nothing."):
        choose_refund(booking, seen=str(waits), by="participant", now=now)
    return redirect("booking_page", token)
