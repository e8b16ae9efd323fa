"""Take in a bank statement: each of its lines once, however often the file is sent."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime

from bookings.compute.camt import NUMBERED, StatementLine, StatementRefused, read_statements
from bookings.compute.references import codes_in
from bookings.errors import NotMatched, NotTakenIn
from bookings.models import BankLine, Booking, Transfer
from bookings.services.ledger import transfer
from bookings.services.match_bank_line import match_bank_line
from bookings.services.order_voucher import issue_for_line
from bookings.vouchers import order_paid_by
from foraywright.floor.acts import By, act, record
from foraywright.floor.models import Business

State = BankLine.State


def take_in_and_match(content: bytes, *, by: By, now: datetime) -> tuple[int, int]:
    """Take in the statement, then match what waits; returns how many lines were new and how many were matched.

    Two acts, each whole: whatever ends the first or the second early, the same file sent again does the rest.
    """
    return take_in_statement(content, by=by, now=now), match_waiting_lines(by=by, now=now)


@act
def take_in_statement(content: bytes, *, by: By, now: datetime) -> int:
    """Keep each line that is new, what came in as money that waits; returns their number. Raises NotTakenIn.

    The business's row is locked: the same file sent twice at one moment would else fail instead of doing nothing.
    """
    business = Business.objects.select_for_update().get()
    lines = _new(_read(content, business.currency))
    for one in lines:
        BankLine.objects.create(taken_in_at=now, state=_first_state(one), **_facts(one))
        _to_the_waiting(one, now=now)
    if lines:
        record("take in bank statement", business, by=by, now=now, fields=("bank lines",))
    return len(lines)


def _facts(line: StatementLine) -> dict[str, object]:
    return {name: getattr(line, name) for name in StatementLine.__slots__}


def _first_state(line: StatementLine) -> str:
    """What we paid out ourselves waits for nobody; what the bank took back does."""
    return State.WAITING if line.came_in or line.is_reversal else State.WENT_OUT


def _read(content: bytes, currency: str) -> tuple[StatementLine, ...]:
    try:
        lines = read_statements(content)
    except StatementRefused as refused:
        raise _not_taken_in(str(refused)) from refused
    foreign = sorted({one.currency for one in lines} - {currency})
    if foreign:
        raise _not_taken_in(f"It has entries in {', '.join(foreign)}; these books are kept in {currency}.")
    return lines


def _not_taken_in(why: str) -> NotTakenIn:
    return NotTakenIn(
        "The statement was not taken in.", why=(why,), became="No line of it was kept and no balance changed."
    )


def _new(lines: Sequence[StatementLine]) -> list[StatementLine]:
    """Those that were not taken in before: from this statement, or from another that told of the same days."""
    known = {_name(one): _core(one) for one in BankLine.objects.filter(statement__in={one.statement for one in lines})}
    _refuse_another_meaning(lines, known)
    same = BankLine.objects.filter(booked_on__in={one.booked_on for one in lines})
    before = {_whole(one) for one in same}
    return [one for one in lines if _name(one) not in known and not (_is_named(one) and _whole(one) in before)]


def _name(line: BankLine | StatementLine) -> tuple[str, str, str]:
    return line.account, line.statement, line.entry


def _is_named(line: StatementLine) -> bool:
    """Whether the bank itself gave it a reference, which means the same payment in every statement."""
    return not line.entry.startswith(NUMBERED)


def _core(line: BankLine | StatementLine) -> tuple[object, ...]:
    """What the bank says of a payment, whatever was forgotten since."""
    return line.booked_on, line.amount_minor, line.came_in


def _whole(line: BankLine | StatementLine) -> tuple[object, ...]:
    """The same payment in two statements, of a day and of its month: the bank's reference and every fact are equal."""
    return line.account, line.entry, *_core(line), line.is_reversal, line.text, line.payer


def _refuse_another_meaning(lines: Sequence[StatementLine], known: Mapping[tuple[str, str, str], object]) -> None:
    """A payment under a name that another had would else be passed over as known."""
    for one in lines:
        if known.get(_name(one), _core(one)) != _core(one):
            raise _not_taken_in(
                f"Its entry “{one.entry}” was taken in before, with another day or amount: the bank used the name of "
                f"statement “{one.statement}” twice. Note these payments on the pages of their bookings."
            )


def _to_the_waiting(line: StatementLine, *, now: datetime) -> None:
    """What waits for a person stands in the ledger from the first moment on. What we paid out is there already."""
    if _first_state(line) != State.WAITING:
        return
    debit, credit = ("bank", "unmatched") if line.came_in else ("unmatched", "bank")
    transfer(
        Transfer.Kind.PAYMENT if line.came_in else Transfer.Kind.REVERSAL,
        debit=debit,
        credit=credit,
        amount_minor=line.amount_minor,
        currency=line.currency,
        booking=None,
        now=now,
    )


def match_waiting_lines(*, by: By, now: datetime) -> int:
    """Match each waiting payment that names exactly one booking, or the order of a voucher, by its reference; returns
    how many. Of an order only the amount that was ordered, and once: whatever else waits for a person.
    """
    waiting = BankLine.objects.filter(state=State.WAITING, came_in=True, is_reversal=False)
    return sum(_match(line, by=by, now=now) for line in list(waiting))


def _match(line: BankLine, *, by: By, now: datetime) -> bool:
    codes = codes_in(line.text)
    booking = Booking.objects.filter(code__in=codes).first() if len(codes) == 1 else None
    order = None if booking else order_paid_by(line)
    try:
        if booking is not None:
            match_bank_line(line, booking, by=by, now=now)
        elif order is not None and order.value_minor == line.amount_minor and not order.vouchers.exists():
            issue_for_line(line, order, by=by, now=now)
        else:
            return False
    except NotMatched:
        # Somebody settled it in the same moment.
        return False
    return True
