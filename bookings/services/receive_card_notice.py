"""Act on what the card provider tells us, however often, in whatever order, and whoever claims to be it."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction
from django.http import HttpRequest, HttpResponse
from payments import PaymentError, PaymentStatus
from payments.core import provider_factory

from bookings.card_provider import event_of
from bookings.errors import NotRecorded
from bookings.models import Booking, CardNotice, CardPayment, VoucherOrder
from bookings.services.card_fees import keep_fee
from bookings.services.locks import lock_card_payment
from bookings.services.note_chargeback import take_in_chargeback
from bookings.services.order_voucher import issue_for_card
from bookings.services.settle_money import settle_money
from foraywright.floor.acts import By, act, record

# A refund that is told of before its payment: what was taken is written all the same, and the payment never again.
TAKEN = (PaymentStatus.CONFIRMED, PaymentStatus.REFUNDED)


@act
def receive_card_notice(payment: CardPayment, request: HttpRequest, *, now: datetime) -> HttpResponse:
    """Let the provider verify the notice, keep it once, and write what was newly taken from the card.

    Notice and money are one transaction: none is ever without the other. A notice that does not verify leaves nothing.
    What it pays and the payment are locked: the same notice may arrive twice in one moment. What goes into the ledger
    is the difference to what stands there already, so that no order of notices counts anything twice.
    """
    payment, paid_for = lock_card_payment(payment)
    before = payment.captured_amount
    try:
        answer = provider_factory(payment.variant, payment).process_data(payment, request)
    except (PaymentError, ValueError, KeyError, TypeError, ArithmeticError):
        answer = HttpResponse("This notice was not accepted.", status=400)
    if _is_too_early(payment):
        answer = HttpResponse("The payment is not known yet. Send this again.", status=409)
    if answer.status_code >= 400:
        transaction.set_rollback(True)
        return answer
    payment.captured_amount = max(before, payment.captured_amount)
    _keep(payment, request.body, now=now)
    _write(payment, paid_for, by="card provider", now=now)
    return answer


def _is_too_early(payment: CardPayment) -> bool:
    """Whether a chargeback came before the word that the voucher was paid: nothing is there to be taken back from."""
    return payment.chargeback_told is not None and payment.order_id is not None and payment.voucher_id is None


@act
def say_card_outcome(payment: CardPayment, *, is_paid: bool, by: By, now: datetime) -> None:
    """What the office read on the provider's page of a payment of which no word came. Raises NotRecorded.

    A notice that comes after all counts nothing twice. The locks are those of a notice.
    """
    payment, paid_for = lock_card_payment(payment)
    if not payment.is_open():
        raise NotRecorded(
            "Nothing was noted.", why=[f"Word of this payment came: {payment.get_status_display().lower()}."]
        )
    record("say card outcome", paid_for, by=by, now=now, fields=("balance",) if is_paid else ())
    if is_paid:
        payment.captured_amount = payment.total
    payment.change_status(PaymentStatus.CONFIRMED if is_paid else PaymentStatus.REJECTED)
    _write(payment, paid_for, by=by, now=now)


def _keep(payment: CardPayment, body: bytes, *, now: datetime) -> None:
    CardNotice.objects.get_or_create(
        event=event_of(payment, body), defaults={"payment": payment, "at": now, "status": payment.status}
    )


def _write(payment: CardPayment, paid_for: Booking | VoucherOrder, *, by: By, now: datetime) -> None:
    taken = payment.captured_minor - payment.written_minor
    if payment.status in TAKEN and taken > 0:
        if isinstance(paid_for, VoucherOrder):
            issue_for_card(payment, paid_for, taken, now=now)
        else:
            settle_money(paid_for, into="card", amount_minor=taken, now=now)
        payment.written_minor += taken
        record("card payment", paid_for, by=by, now=now, fields=("balance",))
    if payment.fee_told is not None:
        keep_fee(payment, payment.fee_told, now=now)
    payment.save()
    if payment.chargeback_told is not None:
        take_in_chargeback(payment, payment.chargeback_told, now=now)
