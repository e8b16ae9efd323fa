"""Bring books that were kept by an earlier rule to the one that holds: tax is owed from its tax point on."""

from __future__ import annotations

from datetime import datetime

from bookings.models import Booking
from bookings.services.book_tax import book_tax
from bookings.services.locks import lock_booking
from foraywright.floor.acts import By, act, record

REASON = "tax is owed from payment or invoice on, no longer from the walk alone"


@act
def book_tax_points(booking: Booking, *, by: By, now: datetime) -> int:
    """Book today what is missing of the tax of one booking; returns how many transfers that took, 0 the second time.

    Nothing in the ledger is altered: the difference is a movement of today. The booking is locked: a payment may come
    in between.
    """
    booking, _ = lock_booking(booking)
    before = booking.transfers.count()
    book_tax(booking, now=now)
    moved = booking.transfers.count() - before
    if moved:
        record("book tax points", booking, by=by, now=now, fields=("tax",), reason=REASON)
    return moved
