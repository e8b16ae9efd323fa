"""Note money that came in for a booking, by bank or at the meeting point."""

from __future__ import annotations

from datetime import datetime

from bookings.models import Booking, Transfer
from bookings.services.ledger import transfer
from foraywright.floor.acts import By, act, record


@act
def record_payment(booking: Booking, *, into: str, amount_minor: int, by: By, now: datetime) -> None:
    """Write a payment of `amount_minor` into the account `into` ("bank" or "cash") towards what the booking owes."""
    booking = Booking.objects.select_for_update().get(pk=booking.pk)
    currency = booking.lines.values_list("currency", flat=True)[0]
    transfer(
        Transfer.Kind.PAYMENT,
        debit=into,
        credit="receivable",
        amount_minor=amount_minor,
        currency=currency,
        booking=booking,
        now=now,
    )
    record("record payment", booking, by=by, now=now, fields=("balance",))
