"""Call off a walk or course: guides are free, everybody who booked is told, and chooses money or another walk."""

from __future__ import annotations

from datetime import datetime, timedelta

from bookings.models import Booking, CallOffChoice, OutboxMessage
from bookings.queries import awaiting_choice
from bookings.services.cancel_booking import OPEN, end_booking
from bookings.services.locks import lock_offerings
from bookings.services.outbox import write_to
from foraywright.floor.acts import By, act, record, require_act
from walks.models import Offering
from walks.services.call_off import call_off

TIME_TO_CHOOSE = timedelta(days=14)


@act
def call_off_walk(offering: Offering, *, why: str, by: By, now: datetime) -> Offering:
    """Call `offering` off with a reason that people read. Raises WalkNotCalledOff.

    Of a course the sessions not yet held are paid back. The offering is locked: a sale in the same moment would
    otherwise never hear of it. The bookings are too: a payment in the same moment would otherwise not be paid back.
    """
    offering = lock_offerings(offering.pk)[offering.pk]
    call_off(offering, why=why, now=now)
    bookings = Booking.objects.select_for_update(of=("self",)).filter(offering=offering, state__in=OPEN)
    for booking in bookings.select_related("party__contact").order_by("pk"):
        booking.offering = offering
        end_booking(booking, Booking.State.CALLED_OFF, ours=True, into="awaiting_choice", now=now)
        _let_choose(booking, now=now)
        write_to(booking, OutboxMessage.Kind.CALLED_OFF, now=now)
    record("call off walk", offering, by=by, now=now, fields=("state",), reason=why)
    return offering


def _let_choose(booking: Booking, *, now: datetime) -> None:
    require_act()
    if awaiting_choice(booking):
        anew = {"offered_at": now, "choose_by": now + TIME_TO_CHOOSE, "choice": "", "chosen_at": None}
        CallOffChoice.objects.update_or_create(booking=booking, defaults=anew)
