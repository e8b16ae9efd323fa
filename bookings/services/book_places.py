"""Sell places: to be paid by transfer or when we meet."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from bookings.discounts import discount_of
from bookings.models import Booking, OutboxMessage
from bookings.services.charging import charge, write_lines
from bookings.services.locks import lock_offerings
from bookings.services.orders import Order, accept_rules, enter, note_consent
from bookings.services.outbox import write_to
from bookings.services.places import seat
from bookings.services.selling import pay_by, who_and_where
from bookings.services.take_discount import take_discount
from foraywright.floor.acts import By, act, record


@act
def book_places(order: Order, *, by: By, now: datetime) -> Booking:
    """Take the places and return the booking; the same key again returns the booking it made. Raises NotBooked.

    The offering is locked first, then its walks: two parties after the last place would otherwise both get it.
    """
    order = replace(order, offering=lock_offerings(order.offering.pk)[order.offering.pk])
    before = Booking.objects.filter(idempotency_key=order.key).first()
    if before is not None:
        return before
    people, walks = who_and_where(order, now=now)
    booking = enter(order, people, Booking.State.CONFIRMED, now=now)
    booking.pay_by = pay_by(walks[0], now=now)
    booking.save()
    take_discount(booking, order.discount, now=now)
    accept_rules(booking, by=by, now=now)
    note_consent(booking, order, by=by, now=now)
    seat(booking, people, walks, now=now)
    charge(booking, write_lines(booking, people, now=now, discount=discount_of(booking, booking.offering)), now=now)
    write_to(booking, OutboxMessage.Kind.CONFIRMATION, now=now)
    record("book places", booking, by=by, now=now, fields=("party", "places"))
    return booking
