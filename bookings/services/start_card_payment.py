"""Begin to pay by card what is owed."""

from __future__ import annotations

from datetime import datetime

from payments import PaymentStatus

from bookings.card_provider import VARIANT, takes_cards
from bookings.errors import NotRecorded
from bookings.models import Booking, CardPayment
from bookings.services.charging import currency_of
from bookings.services.locks import lock_booking
from bookings.services.settle_money import still_to_pay
from foraywright.floor.acts import By, act, record
from foraywright.floor.compute.money import in_major
from foraywright.floor.compute.short_codes import spoken


@act
def start_card_payment(booking: Booking, *, by: By, now: datetime) -> CardPayment:
    """The card payment of all that is to be paid; one that was begun for the same amount goes on. Raises NotRecorded.

    The booking is locked: it could otherwise be paid or cancelled in between, and too much be asked.
    """
    booking, _ = lock_booking(booking)
    amount = still_to_pay(booking)
    if not takes_cards() or not amount or booking.state not in (Booking.State.HELD, Booking.State.CONFIRMED):
        raise NotRecorded("There is nothing to pay by card here.", became="Nothing was paid.")
    currency = currency_of(booking)
    total = in_major(amount, currency)
    begun = booking.card_payments.filter(status__in=(PaymentStatus.WAITING, PaymentStatus.INPUT), total=total).first()
    if begun is not None:
        return begun
    payment = CardPayment(booking=booking, variant=VARIANT, total=total, currency=currency)
    payment.description = f"Booking {spoken(booking.code)}"
    payment.save()
    record("begin card payment", booking, by=by, now=now)
    return payment
