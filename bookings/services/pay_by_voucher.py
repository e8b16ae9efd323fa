"""Pay for a booking with a voucher, wholly or in part."""

from __future__ import annotations

from datetime import datetime

from bookings.errors import NotPaidByVoucher
from bookings.models import Booking
from bookings.queries import is_live
from bookings.services.locks import lock_booking
from bookings.services.settle_money import settle_money, still_to_pay
from bookings.vouchers import STAYS, left_on, usable_voucher
from foraywright.floor.acts import By, act, record


@act
def pay_by_voucher(booking: Booking, code: str, *, by: By, now: datetime) -> int:
    """Pay what the booking still owes with the voucher `code`, as far as it reaches; return how much that was.

    Raises NotPaidByVoucher. The booking is locked, then the voucher: two bookings could otherwise spend it twice.
    """
    booking, _ = lock_booking(booking)
    owed = still_to_pay(booking) if is_live(booking, now=now) else 0
    if not owed:
        raise NotPaidByVoucher("The voucher was not used.", why=["Nothing is to be paid."], became=STAYS)
    voucher = usable_voucher(code, booking.offering, now=now, lock=True)
    amount = min(owed, left_on(voucher))
    settle_money(booking, into="vouchers_out", amount_minor=amount, voucher=voucher, now=now)
    record("pay by voucher", booking, by=by, now=now, fields=("balance",))
    return amount
