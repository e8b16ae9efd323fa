"""Sell a gift voucher, in the office or at the meeting point."""

from __future__ import annotations

from datetime import datetime, timedelta

from bookings.errors import NotIssued
from bookings.models import Booking, Transfer, Voucher, VoucherOrder
from bookings.services.ledger import transfer
from bookings.services.take_off_voucher import keep_voucher_tax, owe_tax
from bookings.vouchers import rate_of_everything_sold
from foraywright.floor.acts import By, act, record, require_act
from foraywright.floor.compute.money import as_text, tax_within
from foraywright.floor.compute.short_codes import new_short_code
from foraywright.floor.house_time import house_day
from foraywright.floor.models import Business

VALID = timedelta(days=731)
"""How long a voucher is good for (our rule): two years, or a day more where neither is a leap year."""
MOST = 100_000
SOLD_FOR = ("bank", "cash")


def _most() -> str:
    return as_text(MOST, Business.objects.values_list("currency", flat=True).get())


@act
def issue_voucher(*, value_minor: int, into: str, key: str, by: By, now: datetime) -> Voucher:
    """Sell a voucher of `value_minor` for money that came into the account `into`; the same key again returns it.

    Raises NotIssued.
    """
    before = Voucher.objects.filter(key=key).first()
    if before is not None:
        return before
    check_worth(value_minor, became="No money was noted.", paid_as_known=into in SOLD_FOR)
    voucher = make_voucher(value_minor, key=key, now=now)
    pay_in(voucher, into, value_minor, now=now)
    record("issue voucher", voucher, by=by, now=now)
    return voucher


def check_worth(value_minor: int, *, became: str, paid_as_known: bool = True) -> None:
    """Raise NotIssued where a voucher may not be worth that, or is paid in a way that we do not know."""
    if not paid_as_known or not 0 < value_minor <= MOST:
        why = [f"A voucher is worth more than nothing and {_most()} at most, paid by transfer or where we meet."]
        raise NotIssued("The voucher was not issued.", why=why, became=became)


def make_voucher(
    value_minor: int,
    *,
    key: str,
    instead_of: Booking | None = None,
    order: VoucherOrder | None = None,
    now: datetime,
) -> Voucher:
    """The step that makes the row of a voucher, with the rate under which it is taxed."""
    require_act()
    return Voucher.objects.create(
        code=new_short_code(),
        value_minor=value_minor,
        currency=Business.objects.values_list("currency", flat=True).get(),
        vat_basis_points=rate_of_everything_sold(now=now),
        issued_at=now,
        valid_to=house_day(now) + VALID,
        key=key,
        instead_of=instead_of,
        order=order,
    )


def pay_in(voucher: Voucher, into: str, amount_minor: int, *, now: datetime) -> None:
    """The step that writes that `amount_minor` came for a voucher into the account `into`, and the tax in it."""
    require_act()
    _write(Transfer.Kind.PAYMENT, into, voucher, amount_minor, None, now=now)
    keep_voucher_tax(voucher, now=now)


def _write(kind: str, debit: str, voucher: Voucher, amount: int, booking: Booking | None, *, now: datetime) -> None:
    transfer(
        kind,
        debit=debit,
        credit="vouchers_out",
        amount_minor=amount,
        currency=voucher.currency,
        booking=booking,
        voucher=voucher,
        now=now,
    )


def give_instead(booking: Booking, amount_minor: int, *, taxed_minor: int, now: datetime) -> Voucher:
    """The step that turns what waits for the choice of a locked booking into a voucher.

    `taxed_minor`: what of it a single-purpose voucher had paid, whose tax is owed already.
    """
    voucher = make_voucher(amount_minor, key=f"instead-{booking.public_id}", instead_of=booking, now=now)
    _write(Transfer.Kind.CREDIT, "awaiting_choice", voucher, amount_minor, booking, now=now)
    owe_tax(voucher, tax_within(amount_minor - taxed_minor, voucher.vat_basis_points or 0), now=now)
    return voucher
