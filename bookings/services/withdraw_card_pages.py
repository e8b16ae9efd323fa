"""Withdraw pages of the card provider that should not be paid on any more.

No act has to remember the pages that it makes wrong: the worker compares what each asks with what is to be paid.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from django.db.models import F, Q
from payments import PaymentError, PaymentStatus
from payments.core import provider_factory

from bookings.models import CardPayment, VoucherOrder
from bookings.models.cards import OPEN
from bookings.queries import is_live
from bookings.services.locks import lock_card_payment
from bookings.services.settle_money import still_to_pay
from foraywright.floor.acts import act, record
from foraywright.floor.leases import LEASE

MOST_ATTEMPTS = 5


def withdraw_next_card_page(*, now: datetime) -> CardPayment | None:
    """Withdraw the next page that is stale; None where there is none. Three queries a page that is open."""
    due = Q(withdraw_next_at=None) | Q(withdraw_next_at__lte=now)
    open_pages = CardPayment.objects.filter(due, status__in=OPEN, cannot_withdraw=False)
    payment = _first_stale(open_pages.select_related("booking__offering", "order").order_by("pk"), now=now)
    if payment is None:
        return None
    # Two workers at once: one of them has it. A worker that is killed leaves it to the next after the lease.
    claimed = open_pages.filter(pk=payment.pk).update(
        withdraw_next_at=now + LEASE, withdraw_attempts=F("withdraw_attempts") + 1
    )
    if claimed:
        _withdraw(payment, now=now)
    return payment


def _first_stale(payments: Iterable[CardPayment], *, now: datetime) -> CardPayment | None:
    return next((one for one in payments if _is_stale(one, now=now)), None)


def _is_stale(payment: CardPayment, *, now: datetime) -> bool:
    """Its time is over, or the booking is, or another amount is to be paid by now, or the voucher was paid."""
    if payment.page_ends_at is not None and payment.page_ends_at <= now:
        return True
    paid_for = payment.paid_for
    if isinstance(paid_for, VoucherOrder):
        return paid_for.vouchers.exists()
    return not is_live(paid_for, now=now) or still_to_pay(paid_for) != payment.asked_minor


def _withdraw(payment: CardPayment, *, now: datetime) -> None:
    """Ask the provider, outside any transaction: it may take its time."""
    try:
        provider_factory(payment.variant, payment).cancel(payment)
    except NotImplementedError:
        _note(payment, is_withdrawn=False, now=now)
    except (PaymentError, OSError):
        if payment.withdraw_attempts + 1 >= MOST_ATTEMPTS:
            _note(payment, is_withdrawn=False, now=now)
    else:
        _note(payment, is_withdrawn=True, now=now)


@act
def _note(payment: CardPayment, *, is_withdrawn: bool, now: datetime) -> None:
    """The locks are those of a notice: that it was paid may have come in this moment, and stands."""
    payment, paid_for = lock_card_payment(payment)
    if not payment.is_open():
        return
    if is_withdrawn:
        payment.change_status(PaymentStatus.CANCELLED)
    else:
        payment.cannot_withdraw = True
        payment.save(update_fields=["cannot_withdraw"])
    record("withdraw card page", paid_for, by="worker", now=now)
