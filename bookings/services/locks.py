"""Locks in their one order: offerings by key, their walks by key, then the booking."""

from __future__ import annotations

from typing import TypeVar, cast

from bookings.models import Booking, CardPayment, FormSent, Voucher, VoucherOrder
from foraywright.floor.acts import require_act
from walks.models import Offering, Walk

PaidFor = TypeVar("PaidFor", bound=Booking | VoucherOrder | Voucher)


def lock_offerings(*keys: int) -> dict[int, Offering]:
    """Lock the offerings and all their walks; return the offerings by key. On SQLite the transaction is the lock."""
    require_act()
    found = Offering.objects.select_for_update().filter(pk__in=keys).order_by("pk")
    offerings = {one.pk: one for one in found}
    list(Walk.objects.select_for_update().filter(offering__in=keys).order_by("pk"))
    return offerings


def lock_booking(booking: Booking, *also: int) -> tuple[Booking, dict[int, Offering]]:
    """Lock the booking after its offering and the offerings `also`; return it with its offering as it is now.

    A booking that was moved to another offering while we waited is locked there.
    """
    while True:
        key = Booking.objects.values_list("offering_id", flat=True).get(pk=booking.pk)
        offerings = lock_offerings(key, *also)
        locked = Booking.objects.select_for_update().get(pk=booking.pk)
        if locked.offering_id == key:
            locked.offering = offerings[key]
            return locked, offerings


def lock_paid_for(paid_for: PaidFor) -> PaidFor:
    """Lock what a card paid for: a booking after its offering, a voucher or the order of one by its row alone."""
    require_act()
    if isinstance(paid_for, Booking):
        return cast(PaidFor, lock_booking(paid_for)[0])
    rows = VoucherOrder.objects if isinstance(paid_for, VoucherOrder) else Voucher.objects
    return cast(PaidFor, rows.select_for_update().get(pk=paid_for.pk))


def lock_card_payment(payment: CardPayment) -> tuple[CardPayment, Booking | VoucherOrder]:
    """Lock what a card payment is for, then the voucher that was issued for it, then the payment."""
    paid_for = lock_paid_for(payment.paid_for)
    list(Voucher.objects.select_for_update(of=("self",)).filter(card_payment=payment))
    return CardPayment.objects.select_for_update().get(pk=payment.pk), paid_for


def was_sent_before(key: str) -> bool:
    """Whether the form with this key was carried out already. Ask under the lock."""
    require_act()
    return FormSent.objects.filter(key=key).exists()
