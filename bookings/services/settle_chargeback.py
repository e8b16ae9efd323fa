"""Say what follows from a payment that the holder of the card took back."""

from __future__ import annotations

from datetime import datetime

from bookings.errors import NotMatched
from bookings.models import Booking, Chargeback, Transfer, Voucher
from bookings.services.card_fees import charge_fee
from bookings.services.ledger import move
from bookings.services.locks import lock_paid_for
from bookings.services.meet_promises import meet_promises
from bookings.services.note_chargeback import follow, give_back_chargeback
from foraywright.floor.acts import act, record
from foraywright.floor.models import User

State = Chargeback.State
ENDS = {State.OWED: "receivable", State.TAKEN_OFF: "bad_debts", State.WRITTEN_OFF: "bad_debts"}
"""The account in which it ends; of a voucher it is a loss first, which `follow` takes off the voucher."""


@act
def settle_chargeback(
    chargeback: Chargeback, *, state: str, reason: str, fee_minor: int = 0, by: User, now: datetime
) -> None:
    """The party owes it again, or it is taken off the voucher, or written off, or the provider gave it back. Raises
    NotMatched.

    What was promised back to the party, or came beyond what it owed, is met first: it has that money now, and is not
    paid twice. `fee_minor`: what the provider charged for the chargeback. What was paid for and the chargeback are
    locked: two people could otherwise settle it in two ways.
    """
    paid_for = lock_paid_for(chargeback.paid_for)
    chargeback = Chargeback.objects.select_for_update().get(pk=chargeback.pk)
    _refuse_unless_it_waits(chargeback, state, reason)
    charge_fee(fee_minor, chargeback.currency, out_of=chargeback.account, now=now)
    if state == State.GIVEN_BACK:
        give_back_chargeback(chargeback, now=now)
    else:
        _end(chargeback, paid_for, ENDS[State(state)], now=now)
    chargeback.state, chargeback.settled_at, chargeback.settled_by = state, now, by
    chargeback.reason, chargeback.fee_minor = reason, fee_minor
    chargeback.save()
    follow(chargeback, now=now)
    record("settle chargeback", paid_for, by=by, now=now, fields=("balance",), said=reason)


def _refuse_unless_it_waits(chargeback: Chargeback, state: str, reason: str) -> None:
    if chargeback.state != State.WAITING:
        raise NotMatched(
            "Nothing was changed.", why=(f"It is settled already: {chargeback.get_state_display().lower()}.",)
        )
    if state not in follows_for(chargeback):
        raise NotMatched("Nothing was changed.", why=("That cannot follow from this one.",))
    if state == State.WRITTEN_OFF and not reason:
        raise NotMatched("Nothing was changed.", why=("What is written off needs a reason.",))


def follows_for(chargeback: Chargeback) -> tuple[str, ...]:
    """What may follow: a party owes again what it paid; whoever has a voucher owes nothing, and has less on it."""
    end = State.OWED if chargeback.booking_id is not None else State.TAKEN_OFF
    return (end, State.WRITTEN_OFF, State.GIVEN_BACK)


def _end(chargeback: Chargeback, paid_for: Booking | Voucher, account: str, *, now: datetime) -> None:
    rest, kind = chargeback.amount_minor, Transfer.Kind.CHARGEBACK
    if isinstance(paid_for, Booking):
        rest = meet_promises(kind, "charged_back", rest, paid_for, now=now)
    move(kind, account, "charged_back", rest, paid_for, now=now)
