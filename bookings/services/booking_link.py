"""The way to a booking's own page, for whoever booked, and its shutting."""

from __future__ import annotations

from datetime import datetime, timedelta

from bookings.models import Booking
from foraywright.floor.acts import require_act
from foraywright.floor.links import make_link
from foraywright.floor.models import LinkSecret

OPEN_AFTER_THE_LAST_WALK = timedelta(days=60)


def booking_link(booking: Booking, *, now: datetime) -> str:
    """Make a link that opens `booking` until 60 days after its last walk; return its token. Earlier links stay good."""
    last = booking.offering.walks.latest("ends_at")
    return make_link("booking", booking.public_id, expires_at=last.ends_at + OPEN_AFTER_THE_LAST_WALK, now=now)


def shut_links(booking: Booking, *, now: datetime) -> None:
    """The step by which no link to the booking or to one of its people opens anything any more."""
    require_act()
    scopes = [booking.public_id, *booking.party.people.values_list("public_id", flat=True)]
    LinkSecret.objects.filter(scope__in=scopes, revoked_at=None).update(revoked_at=now)
