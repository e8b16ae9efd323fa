"""Tell whoever booked that a walk was changed. The change is a row of the room below, which knows nobody who booked."""

from __future__ import annotations

from datetime import datetime

from bookings.models import Booking, OutboxMessage
from bookings.services.cancel_booking import OPEN
from bookings.services.outbox import write_to
from foraywright.floor.acts import act
from foraywright.floor.leases import claim, finish
from walks.models import WalkChange


def tell_of_next_change(*, now: datetime) -> WalkChange | None:
    """Claim the next change and write to everybody who booked before it; None where nothing is due."""
    change = claim(WalkChange, now=now)
    if change is not None:
        _tell(change, now=now)
    return change


@act
def _tell(change: WalkChange, *, now: datetime) -> None:
    bookings = Booking.objects.filter(offering=change.walk.offering_id, state__in=OPEN)
    for booking in bookings.select_related("party__contact").order_by("pk"):
        if (booking.agreed_at or booking.booked_at) < change.at:
            write_to(booking, OutboxMessage.Kind.WALK_CHANGED, version=change.pk, now=now)
    finish(change, now=now)
