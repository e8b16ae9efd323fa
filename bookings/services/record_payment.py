"""Note money that came in for a booking, by bank or at the meeting point."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from bookings.errors import NotRecorded
from bookings.models import Booking
from bookings.services.locks import lock_booking
from bookings.services.settle_money import settle_money
from foraywright.floor.acts import By, act, record

TAKE_MONEY = ("bank", "cash")


@act
def record_payment(booking: Booking, *, into: str, amount_minor: int, by: By, now: datetime) -> None:
    """Write a payment of `amount_minor` into the account `into` ("bank" or "cash"), and act on it (`settle_money`).

    Raises NotRecorded. Offering and booking are locked: the booking could otherwise be cancelled in between, and the
    payment not be paid back, or its places be sold to somebody else.
    """
    booking, _ = lock_booking(booking)
    reasons = list(_reasons_against(into, amount_minor))
    if reasons:
        raise NotRecorded("The payment was not recorded.", why=reasons, became="The balance stays as it was.")
    settle_money(booking, into=into, amount_minor=amount_minor, now=now)
    record("record payment", booking, by=by, now=now, fields=("balance",))


def _reasons_against(into: str, amount_minor: int) -> Iterator[str]:
    if into not in TAKE_MONEY:
        yield f"“{into}” is no account that takes money; bank and cash are."
    if amount_minor <= 0:
        yield "A payment is more than nothing."
