"""Order a voucher from outside, to be paid by transfer or by card; it is issued when the money has come."""

from __future__ import annotations

from datetime import datetime

from bookings.errors import NotIssued
from bookings.models import BankLine, Booking, CardPayment, Transfer, Voucher, VoucherOrder
from bookings.services.issue_voucher import check_worth, make_voucher, pay_in
from bookings.services.match_bank_line import lock_waiting_line, move_line, settle_line
from foraywright.floor.acts import By, act, record, require_act
from foraywright.floor.compute.short_codes import new_short_code
from foraywright.floor.models import Business


@act
def order_voucher(value_minor: int, *, key: str, by: By, now: datetime) -> VoucherOrder:
    """Keep the order of a voucher of `value_minor`; the same key again returns it. Raises NotIssued."""
    before = VoucherOrder.objects.filter(key=key).first()
    if before is not None:
        return before
    check_worth(value_minor, became="Nothing was ordered.")
    currency = Business.objects.values_list("currency", flat=True).get()
    order = VoucherOrder.objects.create(
        code=_free_code(), value_minor=value_minor, currency=currency, key=key, ordered_at=now
    )
    record("order voucher", order, by=by, now=now)
    return order


def _free_code() -> str:
    """A transfer must never be able to mean an order and a booking at once."""
    code = new_short_code()
    return _free_code() if Booking.objects.filter(code=code).exists() else code


@act
def issue_for_line(line: BankLine, order: VoucherOrder, *, by: By, now: datetime) -> Voucher:
    """The line pays the order: a voucher worth what came in. Raises NotMatched, NotIssued.

    The line is locked: it could otherwise become a voucher twice, or a voucher and a refund.
    """
    line = lock_waiting_line(line)
    if not line.came_in:
        raise NotIssued("No voucher was issued.", why=["This line is money that went out."])
    move_line(line, Transfer.Kind.FOUND, debit="unmatched", credit="bank", now=now)
    voucher = make_voucher(line.amount_minor, key=f"line-{line.public_id}", order=order, now=now)
    pay_in(voucher, "bank", line.amount_minor, now=now)
    settle_line(line, BankLine.State.FOR_VOUCHER, by=by, now=now)
    record("issue voucher", voucher, by=by, now=now)
    return voucher


def issue_for_card(payment: CardPayment, order: VoucherOrder, amount_minor: int, *, now: datetime) -> Voucher:
    """The step by which what was newly taken from a card for a locked order becomes a voucher, or more of it."""
    require_act()
    if payment.voucher is None:
        payment.voucher = make_voucher(amount_minor, key=payment.token, order=order, now=now)
    else:
        payment.voucher.value_minor += amount_minor
        payment.voucher.save(update_fields=["value_minor"])
    pay_in(payment.voucher, "card", amount_minor, now=now)
    return payment.voucher
