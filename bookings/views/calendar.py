"""A booking's own calendar, behind its link."""

from __future__ import annotations

from datetime import datetime

from django.http import HttpRequest, HttpResponseBase
from django.views.decorators.http import require_safe

from bookings.models import Booking
from bookings.own_calendar import own_calendar
from bookings.views.by_link import by_link
from walks.views.feeds import calendar_answer


@require_safe
@by_link
def booking_ics(request: HttpRequest, booking: Booking, token: str, now: datetime) -> HttpResponseBase:
    """The walks of the booking, for one calendar only: nothing on the way may keep a copy."""
    return calendar_answer(request, own_calendar(booking), cache="private, no-store")
