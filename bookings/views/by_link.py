"""The pages of a booking: whoever holds the link may read and change it, and nobody keeps a copy of what it shows."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from functools import wraps
from typing import TypeVar

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import render
from django.utils import timezone

from bookings.models import Booking
from foraywright.floor.door import names_act
from foraywright.floor.links import follow_link

Kept = TypeVar("Kept", bound=HttpResponseBase)
BookingView = Callable[[HttpRequest, Booking, str, datetime], HttpResponseBase]


def by_link(view: BookingView) -> Callable[..., HttpResponseBase]:
    """Call `view` with (request, booking, token, now); a forged token is answered with 404, an old one with 410."""

    @names_act("booking.by_link")
    @wraps(view)
    def opened(request: HttpRequest, token: str) -> HttpResponseBase:
        now = timezone.now()
        return kept_from_others(_answer(view, request, token, now))

    return opened


def by_link_with(view: Callable[..., HttpResponseBase]) -> Callable[..., HttpResponseBase]:
    """The same for a view of one thing of the booking: called with (request, booking, token, now, public_id)."""

    @names_act("booking.by_link")
    @wraps(view)
    def opened(request: HttpRequest, token: str, public_id: str) -> HttpResponseBase:
        return by_link(lambda *known: view(*known, public_id))(request, token)

    return opened


def _answer(view: BookingView, request: HttpRequest, token: str, now: datetime) -> HttpResponseBase:
    found = follow_link("booking", token, now=now)
    if found is None:
        return refused_link(request, "unknown")
    state, public_id = found
    booking = Booking.objects.select_related("offering__theme", "party__contact").filter(public_id=public_id).first()
    if state != "live" or booking is None:
        return refused_link(request, state if booking else "erased")
    return view(request, booking, token, now)


def refused_link(request: HttpRequest, state: str) -> HttpResponse:
    """Say why a link opens nothing ("unknown", "expired", "revoked", "erased") and how to get a new one."""
    status = 404 if state == "unknown" else 410
    return render(request, "bookings/link_refused.html", {"state": state}, status=status)


def kept_from_others(response: Kept) -> Kept:
    """Let no cache, search engine or next site keep what the page shows.

    Under "no-referrer" a browser sends a form with the origin "null", which is refused; under neither get others one.
    """
    has_form = isinstance(response, HttpResponse) and b'method="post"' in response.content
    response["Cache-Control"] = "no-store"
    response["Referrer-Policy"] = "same-origin" if has_form else "no-referrer"
    response["X-Robots-Tag"] = "noindex"
    return response
