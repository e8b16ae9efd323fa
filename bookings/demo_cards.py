"""What was paid by card in the demo, and what the holder of one card took back."""

from __future__ import annotations

from datetime import datetime, timedelta

from bookings.card_provider import practice_notice, signed_notice, takes_cards
from bookings.models import Booking, CardPayment
from bookings.queries import balance
from bookings.services.note_card_payout import note_card_payout
from bookings.services.order_voucher import order_voucher
from bookings.services.receive_card_notice import receive_card_notice
from bookings.services.start_card_payment import start_card_payment, start_voucher_payment
from foraywright.floor.models import User


def pay_by_card_for_the_demo(*, by: User, now: datetime) -> None:
    """The two earliest bookings that owe something and a voucher are paid by card; the first payment is taken back
    yesterday.
    """
    if not takes_cards():
        return
    to_come = Booking.objects.filter(state=Booking.State.CONFIRMED, offering__walks__starts_at__gt=now)
    owing = [one for one in to_come.distinct().order_by("pk") if balance(one) > 0][:2]
    paid_at = now - timedelta(days=5)
    payments = [start_card_payment(one, by="participant", now=paid_at) for one in owing]
    order = order_voucher(4000, key="demo-voucher-by-card", by="participant", now=paid_at)
    payments.append(start_voucher_payment(order, by="participant", now=paid_at))
    for payment in payments:
        _tell(payment, "pay", now=paid_at)
    for payment in payments[:1]:
        payment.refresh_from_db()
        _tell(payment, "take_back", now=now - timedelta(days=1))
    key, since = "demo-monthly-fee", now - timedelta(days=2)
    note_card_payout(passed_on_minor=0, fee_minor=500, shared=False, reason="Monthly fee", key=key, by=by, now=since)


def _tell(payment: CardPayment, does: str, *, now: datetime) -> None:
    told = practice_notice(payment, does)
    if told is not None:
        receive_card_notice(payment, signed_notice(payment, told), now=now)
