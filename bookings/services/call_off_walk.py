"""Call off a walk or course: guides are free, everybody who booked is told, all money goes back."""

from __future__ import annotations

from datetime import datetime

from bookings.models import Booking, OutboxMessage
from bookings.queries import live_bookings
from bookings.services.cancel_booking import end_booking
from bookings.services.outbox import write_to
from foraywright.floor.acts import By, act, record
from walks.models import Offering
from walks.services.call_off import call_off


@act
def call_off_walk(offering: Offering, *, why: str, by: By, now: datetime) -> Offering:
    """Call `offering` off with a reason that people read. Raises WalkNotCalledOff.

    The offering is locked: a sale in the same moment would otherwise never hear of it. The bookings are too: a payment
    in the same moment would otherwise not be paid back.
    """
    offering = Offering.objects.select_for_update().get(pk=offering.pk)
    call_off(offering, why=why, now=now)
    for booking in live_bookings(offering, now=now).select_for_update(of=("self",)):
        end_booking(booking, Booking.State.CALLED_OFF, ours=True, now=now)
        write_to(booking, OutboxMessage.Kind.CALLED_OFF, now=now)
    record("call off walk", offering, by=by, now=now, fields=("state",), reason=why)
    return offering
