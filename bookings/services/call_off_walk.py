"""Call off a walk or course: guides are free, everybody who booked is told, and chooses money or another walk."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from bookings.models import Booking, CallOffChoice, GroupQuote, OutboxMessage
from bookings.queries import awaiting_choice, paid_for
from bookings.quote_states import local_day
from bookings.services.cancel_booking import OPEN, end_booking
from bookings.services.locks import lock_offerings
from bookings.services.outbox import write_that_closed, write_to
from foraywright.floor.acts import By, act, record, require_act
from foraywright.floor.refusals import SeenOtherwise, as_seen
from walks.models import Offering
from walks.services.call_off import call_off

TIME_TO_CHOOSE = timedelta(days=14)
CHANGED = "Somebody booked, paid or left since the page was made."


@dataclass(frozen=True, slots=True)
class ToldOf:
    """Whom calling off tells, and what they paid, in minor units."""

    parties: int
    money: int

    @property
    def mark(self) -> str:
        """What a page showed of it."""
        return f"{self.parties}-{self.money}"


def told_of(offering: Offering) -> ToldOf:
    """Whom calling `offering` off would tell now. Two queries."""
    told = Booking.objects.filter(offering=offering, state__in=OPEN)
    return ToldOf(told.count(), paid_for(told))


@act
def call_off_walk(offering: Offering, *, why: str, seen: str | None = None, by: By, now: datetime) -> Offering:
    """Call `offering` off with a reason that people read; `seen`: the mark of whom it tells, as it was shown.

    Raises WalkNotCalledOff, and SeenOtherwise where it would tell others now, or others have paid.

    Of a course the sessions not yet held are paid back. The offering is locked: a sale in the same moment would
    otherwise never hear of it. The bookings are too: a payment in the same moment would otherwise not be paid back.
    """
    offering = lock_offerings(offering.pk)[offering.pk]
    call_off(offering, why=why, now=now)
    bookings = Booking.objects.select_for_update(of=("self",)).filter(offering=offering, state__in=OPEN)
    locked = list(bookings.select_related("party__contact").order_by("pk"))
    as_seen(seen, told_of(offering).mark, SeenOtherwise(CHANGED, became="The walk was not called off."))
    for booking in locked:
        booking.offering = offering
        end_booking(booking, Booking.State.CALLED_OFF, ours=True, into="awaiting_choice", now=now)
        _let_choose(booking, now=now)
        write_to(booking, OutboxMessage.Kind.CALLED_OFF, now=now)
    _tell_who_was_quoted(offering, locked, now=now)
    record("call off walk", offering, by=by, now=now, fields=("state",), reason=why)
    return offering


def _tell_who_was_quoted(offering: Offering, told: list[Booking], *, now: datetime) -> None:
    """Groups with a quote that they have not accepted; who has booked is told of that."""
    unanswered = GroupQuote.objects.filter(offering=offering, booking=None, withdrawn_at=None, declined_at=None)
    still_valid = unanswered.filter(valid_until__gte=local_day(offering, now=now))
    for quote in still_valid.exclude(enquiry__quotes__booking__in=told):
        write_that_closed(quote, now=now)


def _let_choose(booking: Booking, *, now: datetime) -> None:
    require_act()
    if awaiting_choice(booking):
        anew = {"offered_at": now, "choose_by": now + TIME_TO_CHOOSE, "choice": "", "chosen_at": None}
        CallOffChoice.objects.update_or_create(booking=booking, defaults=anew)
