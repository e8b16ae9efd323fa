"""Note money that came in for a booking, by bank or at the meeting point."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from bookings.errors import NotRecorded
from bookings.models import Booking, Transfer
from bookings.queries import balance
from bookings.services.ledger import transfer
from foraywright.floor.acts import By, act, record

TAKE_MONEY = ("bank", "cash")
LIVE = (Booking.State.CONFIRMED, Booking.State.HELD)


@act
def record_payment(booking: Booking, *, into: str, amount_minor: int, by: By, now: datetime) -> None:
    """Write a payment of `amount_minor` into the account `into` ("bank" or "cash") towards what the booking owes.

    Of a booking that is over, what goes beyond its debt waits for a person. Raises NotRecorded.
    The booking is locked: it could otherwise be cancelled in between, and the payment not be paid back.
    """
    booking = Booking.objects.select_for_update().get(pk=booking.pk)
    reasons = list(_reasons_against(into, amount_minor))
    if reasons:
        raise NotRecorded("The payment was not recorded.", why=reasons, became="The balance stays as it was.")
    towards = amount_minor if booking.state in LIVE else min(amount_minor, max(0, balance(booking)))
    for credit, amount in (("receivable", towards), ("unmatched", amount_minor - towards)):
        transfer(
            Transfer.Kind.PAYMENT,
            debit=into,
            credit=credit,
            amount_minor=amount,
            currency=booking.lines.values_list("currency", flat=True)[0],
            booking=booking,
            now=now,
        )
    record("record payment", booking, by=by, now=now, fields=("balance",))


def _reasons_against(into: str, amount_minor: int) -> Iterator[str]:
    if into not in TAKE_MONEY:
        yield f"“{into}” is no account that takes money; bank and cash are."
    if amount_minor <= 0:
        yield "A payment is more than nothing."
