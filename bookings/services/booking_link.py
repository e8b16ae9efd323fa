"""The way to a booking's own page, for whoever booked."""

from __future__ import annotations

from datetime import datetime, timedelta

from bookings.models import Booking
from foraywright.floor.links import make_link

OPEN_AFTER_THE_LAST_WALK = timedelta(days=60)


def booking_link(booking: Booking, *, now: datetime) -> str:
    """Make a link that opens `booking` until 60 days after its last walk; return its token. Earlier links stay good."""
    last = booking.offering.walks.latest("ends_at")
    return make_link("booking", booking.public_id, expires_at=last.ends_at + OPEN_AFTER_THE_LAST_WALK, now=now)
