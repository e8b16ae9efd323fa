"""Note that a promised refund was paid out."""

from __future__ import annotations

from datetime import datetime

from bookings.errors import NotPaidOut
from bookings.models import Booking, Chargeback, FormSent, OutboxMessage, Transfer
from bookings.queries import TAKE_MONEY, refund_due
from bookings.services.ledger import move
from bookings.services.locks import lock_booking, was_sent_before
from bookings.services.outbox import write_to
from foraywright.floor.acts import By, act, record


@act
def pay_refund(booking: Booking, *, out_of: str, amount_minor: int, key: str, by: By, now: datetime) -> bool:
    """Write that `amount_minor` went back out of the account `out_of` ("bank" or "cash").

    Returns whether anything was written: the form with this `key` may have been carried out before. Raises NotPaidOut.
    The booking is locked: two people could otherwise pay the same refund.
    """
    booking, _ = lock_booking(booking)
    if was_sent_before(key):
        return False
    _refuse_while_taken_back(booking)
    _refuse_unless_due(booking, out_of, amount_minor)
    move(Transfer.Kind.REFUND, "refunds_due", out_of, amount_minor, booking, now=now)
    FormSent.objects.create(key=key, booking=booking, act="pay refund", at=now)
    paid = booking.transfers.filter(kind=Transfer.Kind.REFUND).latest("pk")
    write_to(booking, OutboxMessage.Kind.REFUND_PAID, version=paid.pk, now=now)
    record("pay refund", booking, by=by, now=now, fields=("balance",))
    return True


def _refuse_while_taken_back(booking: Booking) -> None:
    """Who has the money already by their bank would have it twice."""
    if Chargeback.objects.filter(booking=booking, state=Chargeback.State.WAITING).exists():
        raise NotPaidOut(
            "No refund was noted.",
            why=("The holder of the card took money back for this booking, and nobody has said yet what follows.",),
            became="What is promised back stays as it was.",
            now="Settle the chargeback first: what was promised back is met by it.",
        )


def _refuse_unless_due(booking: Booking, out_of: str, amount_minor: int) -> None:
    due = refund_due(booking)
    if out_of in TAKE_MONEY and 0 < amount_minor <= due:
        return
    why = f"“{out_of}” is no account that money is paid from." if out_of not in TAKE_MONEY else _too_much(due)
    raise NotPaidOut("No refund was noted.", why=(why,), became="What is promised back stays as it was.")


def _too_much(due: int) -> str:
    return "More was to be noted than is promised back." if due else "Nothing is promised back, or it was noted before."
