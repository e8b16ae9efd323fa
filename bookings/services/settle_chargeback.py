"""Say what follows from a payment that the holder of the card took back."""

from __future__ import annotations

from datetime import datetime

from bookings.errors import NotMatched
from bookings.models import Booking, Chargeback, Transfer
from bookings.services.book_tax import book_tax
from bookings.services.card_fees import charge_fee
from bookings.services.charging import move
from bookings.services.locks import lock_booking
from bookings.services.meet_promises import meet_promises
from bookings.services.note_chargeback import give_back_chargeback
from foraywright.floor.acts import act, record
from foraywright.floor.models import User

State = Chargeback.State
ENDS = {State.OWED: "receivable", State.WRITTEN_OFF: "bad_debts"}


@act
def settle_chargeback(
    chargeback: Chargeback, *, state: str, reason: str, fee_minor: int = 0, by: User, now: datetime
) -> None:
    """The party owes it again, or it is written off, or the provider gave it back. Raises NotMatched.

    What was promised back to the party, or came beyond what it owed, is met first: it has that money now, and is not
    paid twice. `fee_minor`: what the provider charged for the chargeback. Booking and chargeback are locked: two people
    could otherwise settle it in two ways.
    """
    booking, _ = lock_booking(chargeback.booking)
    chargeback = Chargeback.objects.select_for_update().get(pk=chargeback.pk)
    _refuse_unless_it_waits(chargeback, state, reason)
    charge_fee(fee_minor, chargeback.currency, out_of=chargeback.account, now=now)
    if state == State.GIVEN_BACK:
        give_back_chargeback(chargeback, booking, now=now)
    else:
        _end(chargeback, booking, ENDS[State(state)], now=now)
    chargeback.state, chargeback.settled_at, chargeback.settled_by = state, now, by
    chargeback.reason, chargeback.fee_minor = reason, fee_minor
    chargeback.save()
    record("settle chargeback", booking, by=by, now=now, fields=("balance",), reason=reason)


def _refuse_unless_it_waits(chargeback: Chargeback, state: str, reason: str) -> None:
    if chargeback.state != State.WAITING:
        raise NotMatched(
            "Nothing was changed.", why=(f"It is settled already: {chargeback.get_state_display().lower()}.",)
        )
    if state == State.WRITTEN_OFF and not reason:
        raise NotMatched("Nothing was changed.", why=("What is written off needs a reason.",))


def _end(chargeback: Chargeback, booking: Booking, account: str, *, now: datetime) -> None:
    rest = meet_promises(Transfer.Kind.CHARGEBACK, "charged_back", chargeback.amount_minor, booking, now=now)
    move(Transfer.Kind.CHARGEBACK, account, "charged_back", rest, booking, now=now)
    book_tax(booking, now=now)
