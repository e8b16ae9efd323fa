"""Turn held places into a booking: to be paid by transfer or when we meet. This is also how an offer is taken."""

from __future__ import annotations

from datetime import datetime

from bookings.errors import NotConfirmed
from bookings.models import Booking, OutboxMessage
from bookings.queries import balance, is_live, price_of, refund_due
from bookings.services.charging import charge, meet_own_promise
from bookings.services.locks import lock_booking
from bookings.services.outbox import write_to
from bookings.services.selling import pay_by
from foraywright.floor.acts import By, act, record, require_act


@act
def confirm_hold(booking: Booking, *, by: By, now: datetime) -> Booking:
    """Confirm a booking whose places are held; confirming it again does nothing more. Raises NotConfirmed.

    Offering and booking are locked: the hold could otherwise lapse, and its places be given away, in between.
    """
    booking, _ = lock_booking(booking)
    if booking.state == Booking.State.CONFIRMED:
        return booking
    if not is_live(booking, now=now):
        raise NotConfirmed(
            "Not booked: these places are not held for you any more.",
            why=["The time to confirm them has run out, or they were given back."],
            became="Nothing is owed.",
            now="Book anew, or join the waiting list.",
        )
    confirm(booking, now=now)
    record("confirm hold", booking, by=by, now=now, fields=("state",))
    return booking


def confirm(booking: Booking, *, now: datetime) -> None:
    """The step by which a locked booking with its places becomes sold: charged, with a date to pay by, and told.

    What was promised back before, as to whoever paid too late and waited, pays for them: nobody is owed what they owe.
    """
    require_act()
    first = booking.offering.walks.earliest("starts_at")
    booking.state, booking.version = Booking.State.CONFIRMED, booking.version + 1
    booking.held_until, booking.hold_kind, booking.session_ends_at = None, "", None
    booking.pay_by, booking.agreed_at = pay_by(first, now=now), now
    booking.save()
    charge(booking, price_of(booking), now=now)
    meet_own_promise(booking, min(refund_due(booking), max(0, balance(booking))), now=now)
    write_to(booking, OutboxMessage.Kind.CONFIRMATION, now=now)
