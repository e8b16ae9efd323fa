"""Give up a debt that nobody will pay, so that it is asked for no more."""

from __future__ import annotations

from datetime import datetime

from bookings.errors import SAY_WHY, NotRecorded
from bookings.models import Booking, Transfer
from bookings.queries import balance
from bookings.services.book_tax import book_tax
from bookings.services.ledger import move
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
    refusal = against_writing_off(booking, now=now)
    if refusal is None and not reason.strip():
        refusal = _refused(SAY_WHY)
    if refusal is not None:
        raise refusal
    owed = balance(booking)
    as_seen(seen, str(owed), SeenOtherwise(CHANGED, became=STAYS))
    move(Transfer.Kind.WRITE_OFF, "bad_debts", "receivable", owed, booking, now=now)
    book_tax(booking, now=now)
    record("write off debt", booking, by=by, now=now, fields=("balance",), said=reason.strip())


def against_writing_off(booking: Booking, *, now: datetime) -> NotRecorded | None:
    """Why nothing that the booking owes can be written off now; None where it can. Two queries."""
    if balance(booking) <= 0:
        return _refused("This booking owes nothing.")
    if booking.state == Booking.State.CONFIRMED and booking.offering.walks.filter(ends_at__gt=now).exists():
        return _refused("The walk is still to come: ask for the money, or cancel the booking.")
    return None


def _refused(why: str) -> NotRecorded:
    return NotRecorded("Nothing was written off.", why=[why], became=STAYS)
