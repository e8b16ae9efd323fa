"""The step by which a refund of what vouchers paid goes back to them."""

from __future__ import annotations

from datetime import datetime, timedelta

from bookings.compute.repaying import shared_by_means
from bookings.models import Booking, Transfer, Voucher
from bookings.queries import means_of, refund_due
from bookings.services.ledger import transfer
from bookings.services.locks import lock_paid_for
from bookings.services.take_off_voucher import take_off_voucher
from bookings.vouchers import used_for
from foraywright.floor.acts import require_act
from foraywright.floor.house_time import house_day

GOOD_FOR = timedelta(days=366)
"""A voucher that gets money back is good for a year more at least (our rule)."""


def return_to_vouchers(booking: Booking, *, now: datetime) -> None:
    """Of what is promised back, the newest payments first, the part that vouchers paid stands on them again.

    Where the price of a voucher was taken back and it did not reach, what comes back is taken off it.
    """
    require_act()
    part = dict(shared_by_means(refund_due(booking), means_of(booking))).get("vouchers_out", 0)
    for voucher, spent in used_for(booking) if part else ():
        amount = min(part, spent)
        part -= amount
        _give_back(booking, voucher, amount, now=now)


def _give_back(booking: Booking, voucher: Voucher, amount: int, *, now: datetime) -> None:
    transfer(
        Transfer.Kind.REFUND,
        debit="refunds_due",
        credit="vouchers_out",
        amount_minor=amount,
        currency=voucher.currency,
        booking=booking,
        voucher=voucher,
        now=now,
    )
    voucher = lock_paid_for(voucher)
    voucher.valid_to = max(voucher.valid_to, house_day(now) + GOOD_FOR)
    voucher.save(update_fields=["valid_to"])
    take_off_voucher(voucher, now=now)
