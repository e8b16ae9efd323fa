"""Promise back what came beyond what a booking owed."""

from __future__ import annotations

from datetime import datetime

from bookings.models import Booking, Transfer
from bookings.queries import unmatched_of
from bookings.services.ledger import move
from bookings.services.locks import lock_booking
from foraywright.floor.acts import By, act, record


@act
def promise_back(booking: Booking, *, by: By, now: datetime) -> None:
    """What came for the booking beyond what it owed and waited for a person is promised back; nothing where none is."""
    booking, _ = lock_booking(booking)
    amount = unmatched_of(booking)
    move(Transfer.Kind.CREDIT, "unmatched", "refunds_due", amount, booking, now=now)
    if amount:
        record("promise back", booking, by=by, now=now, fields=("balance",))
