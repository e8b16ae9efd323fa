"""Give up a debt that nobody will pay, so that it is asked for no more."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from bookings.errors import SAY_WHY, NotRecorded
from bookings.models import Booking, Transfer
from bookings.queries import balance
from bookings.services.book_tax import book_tax
from bookings.services.charging import move
from bookings.services.locks import lock_booking
from foraywright.floor.acts import act, record
from foraywright.floor.models import User
from foraywright.floor.refusals import SeenOtherwise, as_seen

STAYS = "The debt stays as it was."
CHANGED = "Money has come, or the booking has changed, since the page was made."


@act
def write_off_debt(booking: Booking, *, reason: str, seen: str | None = None, by: User, now: datetime) -> None:
    """All that the booking owes is written off; `seen`: the minor units that the page showed.

    Money that comes later makes it good. Raises NotRecorded, and SeenOtherwise where another amount is owed now. The
    booking is locked: a payment could otherwise come in between, and be promised back as too much.
    """
    booking, _ = lock_booking(booking)
    owed = balance(booking)
    reasons = list(_reasons_against(booking, owed, reason, now=now))
    if reasons:
        raise NotRecorded("Nothing was written off.", why=reasons, became=STAYS)
    as_seen(seen, str(owed), SeenOtherwise(CHANGED, became=STAYS))
    move(Transfer.Kind.WRITE_OFF, "bad_debts", "receivable", owed, booking, now=now)
    book_tax(booking, now=now)
    record("write off debt", booking, by=by, now=now, fields=("balance",), reason=reason.strip())


def _reasons_against(booking: Booking, owed: int, reason: str, *, now: datetime) -> Iterator[str]:
    if owed <= 0:
        yield "This booking owes nothing."
    elif booking.state == Booking.State.CONFIRMED and booking.offering.walks.filter(ends_at__gt=now).exists():
        yield "The walk is still to come: ask for the money, or cancel the booking."
    if not reason.strip():
        yield SAY_WHY
