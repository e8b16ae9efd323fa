"""Begin to pay by card what is owed, or a voucher that was ordered."""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal

from django.db.models import Q

from bookings.card_provider import VARIANT, page_end, takes_cards
from bookings.errors import NotRecorded
from bookings.models import Booking, CardPayment, VoucherOrder
from bookings.models.cards import OPEN
from bookings.queries import currency_of
from bookings.services.locks import lock_booking, lock_paid_for
from bookings.services.settle_money import still_to_pay
from foraywright.floor.acts import By, act, record, require_act
from foraywright.floor.compute.money import in_major
from foraywright.floor.compute.short_codes import spoken

ENOUGH = timedelta(minutes=10)
"""A page that ends sooner is left for a new one (our rule)."""


@act
def start_card_payment(booking: Booking, *, by: By, now: datetime) -> CardPayment:
    """The card payment of all that is to be paid; one that was begun for the same amount goes on. Raises NotRecorded.

    Older pages for another amount are withdrawn by the worker (`withdraw_card_pages`).
    The booking is locked: it could otherwise be paid or cancelled in between, and too much be asked.
    """
    booking, _ = lock_booking(booking)
    amount = still_to_pay(booking)
    if not takes_cards() or not amount or booking.state not in (Booking.State.HELD, Booking.State.CONFIRMED):
        raise NotRecorded("There is nothing to pay by card here.", became="Nothing was paid.")
    payment = _page(booking, amount, currency_of(booking), f"Booking {spoken(booking.code)}", by=by, now=now)
    tie_hold(booking, payment)
    return payment


@act
def start_voucher_payment(order: VoucherOrder, *, by: By, now: datetime) -> CardPayment:
    """The card payment of a voucher that was ordered and is not paid yet. Raises NotRecorded.

    The order is locked: the notice of an earlier page could otherwise issue the voucher in between.
    """
    order = lock_paid_for(order)
    if not takes_cards() or order.vouchers.exists():
        raise NotRecorded("There is nothing to pay by card here.", became="Nothing was paid.")
    return _page(order, order.value_minor, order.currency, "A gift voucher", by=by, now=now)


def _page(
    paid_for: Booking | VoucherOrder, amount_minor: int, currency: str, description: str, *, by: By, now: datetime
) -> CardPayment:
    total = in_major(amount_minor, currency)
    payment = _begun(paid_for, total, now=now)
    if payment is None:
        payment = paid_for.card_payments.create(
            variant=VARIANT,
            total=total,
            currency=currency,
            description=description,
            page_ends_at=page_end(now=now),
        )
        record("begin card payment", paid_for, by=by, now=now)
    return payment


def _begun(paid_for: Booking | VoucherOrder, total: Decimal, *, now: datetime) -> CardPayment | None:
    """The payment that goes on: of the same amount, on a page that can be paid on for a while yet."""
    lasting = Q(page_ends_at=None) | Q(page_ends_at__gte=now + ENOUGH)
    return paid_for.card_payments.filter(lasting, status__in=OPEN, total=total, withdraw_attempts=0).first()


def tie_hold(booking: Booking, payment: CardPayment) -> None:
    """The step by which held places last no longer than the page on which they are paid, and may last as long.

    An offer from the waiting list keeps its own end, which others wait for.
    """
    require_act()
    if booking.state != Booking.State.HELD or booking.hold_kind != Booking.HoldKind.CHECKOUT:
        return
    booking.session_ends_at = payment.page_ends_at
    if booking.session_ends_at is not None and booking.held_until is not None:
        booking.held_until = min(booking.held_until, booking.session_ends_at)
    booking.save(update_fields=["session_ends_at", "held_until"])
