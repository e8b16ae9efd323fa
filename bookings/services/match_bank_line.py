"""Say what a line of the bank's statement is: a booking's, money to be sent back, or nobody's."""

from __future__ import annotations

from datetime import datetime

from bookings.errors import NotMatched
from bookings.models import BankLine, Booking, Transfer
from bookings.services.book_tax import book_tax
from bookings.services.ledger import move, transfer
from bookings.services.locks import lock_booking
from bookings.services.meet_promises import meet_promises
from bookings.services.note_card_payout import keep_payout
from bookings.services.settle_money import settle_money
from foraywright.floor.acts import By, act, record, require_act
from foraywright.floor.ids import new_public_id

State = BankLine.State


@act
def match_bank_line(line: BankLine, booking: Booking, *, by: By, now: datetime) -> None:
    """The line is the booking's: what came in pays it (`settle_money`); what the bank took back meets what was promised
    back, and what is beyond that is owed again.

    Raises NotMatched. Booking and line are locked, in this order: two people could otherwise use the money twice.
    """
    booking, _ = lock_booking(booking)
    line = lock_waiting_line(line)
    if line.came_in:
        move_line(line, Transfer.Kind.FOUND, debit="unmatched", credit="bank", now=now)
        settle_money(booking, into="bank", amount_minor=line.amount_minor, now=now)
    else:
        move_line(line, Transfer.Kind.FOUND, debit="bank", credit="unmatched", now=now)
        owed = meet_promises(Transfer.Kind.REVERSAL, "bank", line.amount_minor, booking, now=now)
        move(Transfer.Kind.REVERSAL, "receivable", "bank", owed, booking, now=now)
        book_tax(booking, now=now)
    settle_line(line, State.MATCHED, by=by, now=now, booking=booking)
    record("match payment", booking, by=by, now=now, fields=("balance",))


@act
def return_bank_line(line: BankLine, *, reason: str, by: By, now: datetime) -> None:
    """The payment was sent back from the bank account to whom it came from. Raises NotMatched."""
    line = _lock_came_in(line)
    move_line(line, Transfer.Kind.REFUND, debit="unmatched", credit="bank", now=now)
    settle_line(line, State.RETURNED, by=by, now=now, reason=reason)


@act
def keep_card_payout(line: BankLine, *, fee_minor: int = 0, reason: str, by: By, now: datetime) -> None:
    """The card provider passed on what people had paid by card, less `fee_minor` which it kept. Raises NotMatched."""
    line = _lock_came_in(line)
    move_line(line, Transfer.Kind.PAYOUT, debit="unmatched", credit="card", now=now)
    keep_payout(
        line.amount_minor, fee_minor, shared=True, reason=reason, key=new_public_id(), line=line, by=by, now=now
    )
    settle_line(line, State.FROM_CARDS, by=by, now=now, reason=reason)


@act
def write_off_bank_line(line: BankLine, *, reason: str, by: By, now: datetime) -> None:
    """Whose the money is cannot be found out, or the bank's own correction concerns no booking. Raises NotMatched."""
    line = lock_waiting_line(line)
    debit, credit = ("unmatched", "written_off") if line.came_in else ("written_off", "unmatched")
    move_line(line, Transfer.Kind.WRITE_OFF, debit=debit, credit=credit, now=now)
    settle_line(line, State.WRITTEN_OFF, by=by, now=now, reason=reason)


def lock_waiting_line(line: BankLine) -> BankLine:
    """The step that locks a line which nobody settled yet. Raises NotMatched."""
    require_act()
    line = BankLine.objects.select_for_update().get(pk=line.pk)
    if line.state != State.WAITING:
        raise NotMatched(
            "Nothing was changed.", why=(f"This line is settled already: {line.get_state_display().lower()}.",)
        )
    return line


def _lock_came_in(line: BankLine) -> BankLine:
    line = lock_waiting_line(line)
    if not line.came_in:
        raise NotMatched("Nothing was changed.", why=("This can only be said of money that came in.",))
    return line


def move_line(line: BankLine, kind: str, *, debit: str, credit: str, now: datetime) -> None:
    """The step that writes the line's amount in the ledger, of no booking."""
    require_act()
    transfer(
        kind,
        debit=debit,
        credit=credit,
        amount_minor=line.amount_minor,
        currency=line.currency,
        booking=None,
        now=now,
    )


def settle_line(
    line: BankLine, state: str, *, by: By, now: datetime, booking: Booking | None = None, reason: str = ""
) -> None:
    """The step that closes the line and says so in the audit."""
    require_act()
    line.state, line.booking, line.settled_at = state, booking, now
    line.save(update_fields=["state", "booking", "settled_at"])
    record("settle bank line", line, by=by, now=now, fields=("state", "booking"), said=reason)


def reopen_line(line: BankLine, *, by: By, now: datetime, reason: str) -> None:
    """The step by which a line that was settled without a booking waits for a person again."""
    require_act()
    line.state, line.settled_at = State.WAITING, None
    line.save(update_fields=["state", "settled_at"])
    record("reopen bank line", line, by=by, now=now, fields=("state",), said=reason)
