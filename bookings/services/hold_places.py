"""Hold places for a stated time while the party pays."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from bookings.compute.hold_times import checkout_end
from bookings.discounts import discount_of
from bookings.models import Booking
from bookings.services.charging import write_lines
from bookings.services.locks import lock_offerings
from bookings.services.orders import Order, accept_rules, enter
from bookings.services.places import seat
from bookings.services.selling import who_and_where
from bookings.services.take_discount import take_discount
from foraywright.floor.acts import By, act, record


@act
def hold_places(order: Order, *, by: By, session_ends_at: datetime | None = None, now: datetime) -> Booking:
    """Hold the places for 20 minutes and return the booking; nothing is owed until it is confirmed. Raises NotBooked.

    The same key again returns the booking it made. `session_ends_at`: end of the payment's session, where there is one.
    The offering is locked first, then its walks: a hold is a sale to everybody else.
    """
    order = replace(order, offering=lock_offerings(order.offering.pk)[order.offering.pk])
    before = Booking.objects.filter(idempotency_key=order.key).first()
    if before is not None:
        return before
    people, walks = who_and_where(order, now=now)
    booking = enter(order, people, Booking.State.HELD, now=now)
    booking.hold_kind, booking.session_ends_at = Booking.HoldKind.CHECKOUT, session_ends_at
    booking.held_until = checkout_end(now, session_ends_at=session_ends_at)
    booking.save()
    take_discount(booking, order.discount, now=now)
    accept_rules(booking, by=by, now=now)
    seat(booking, people, walks, now=now)
    write_lines(booking, people, now=now, discount=discount_of(booking, booking.offering))
    record("hold places", booking, by=by, now=now, fields=("party", "places"))
    return booking
