"""Note money that came in for a booking, by bank or at the meeting point."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from bookings.errors import NotRecorded
from bookings.models import Booking, FormSent
from bookings.services.locks import lock_booking, was_sent_before
from bookings.services.settle_money import settle_money
from foraywright.floor.acts import By, act, record

BY_HAND = ("bank", "cash")
"""Where a person may note a payment; what is paid by card the provider tells."""


@act
def record_payment(
    booking: Booking, *, into: str, amount_minor: int, by: By, now: datetime, key: str | None = None
) -> bool:
    """Write a payment of `amount_minor` into the account `into` ("bank" or "cash"), and act on it (`settle_money`).

    Returns whether anything was written: a form with a `key` that was carried out before does nothing more.
    Raises NotRecorded. Offering and booking are locked: the booking could otherwise be cancelled in between, and the
    payment not be paid back, or its places be sold to somebody else.
    """
    booking, _ = lock_booking(booking)
    if key is not None and was_sent_before(key):
        return False
    reasons = list(_reasons_against(into, amount_minor))
    if reasons:
        raise NotRecorded("The payment was not recorded.", why=reasons, became="The balance stays as it was.")
    settle_money(booking, into=into, amount_minor=amount_minor, now=now)
    if key is not None:
        FormSent.objects.create(key=key, booking=booking, act="record payment", at=now)
    record("record payment", booking, by=by, now=now, fields=("balance",))
    return True


def _reasons_against(into: str, amount_minor: int) -> Iterator[str]:
    if into not in BY_HAND:
        yield f"“{into}” is no account that takes money; bank and cash are."
    if amount_minor <= 0:
        yield "A payment is more than nothing."
