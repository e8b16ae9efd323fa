"""Let holds lapse that are over, and say so shortly before. The clock decides, not this: it only tidies and tells."""

from __future__ import annotations

from datetime import datetime

from django.db.models import F, Q

from bookings.compute.hold_times import WARN_CHECKOUT, WARN_OFFER
from bookings.models import Booking, OutboxMessage
from bookings.services.charging import take_back
from bookings.services.locks import lock_booking
from bookings.services.outbox import write_to
from bookings.services.places import give_back
from foraywright.floor.acts import act, record, require_act

HELD = Q(state=Booking.State.HELD)


def lapse_next_hold(*, now: datetime) -> Booking | None:
    """Let the next hold that is over lapse; None where there is none. Two workers at once do it once."""
    over = Booking.objects.filter(HELD, held_until__lte=now).order_by("held_until", "pk").first()
    if over is not None:
        _lapse_if_over(over, now=now)
    return over


@act
def _lapse_if_over(booking: Booking, *, now: datetime) -> None:
    """The booking is locked: a payment or one more press of the button may just have saved it."""
    booking, _ = lock_booking(booking)
    if booking.state == Booking.State.HELD and booking.held_until is not None and booking.held_until <= now:
        lapse(booking, now=now)
        record("lapse hold", booking, by="worker", now=now, fields=("state", "places"))


def lapse(booking: Booking, *, now: datetime) -> None:
    """The step that ends a locked hold: places free, part payments promised back, the party told."""
    require_act()
    booking.state, booking.version = Booking.State.LAPSED, booking.version + 1
    booking.save(update_fields=["state", "version"])
    give_back(booking, now=now)
    take_back(booking, 0, now=now)
    write_to(booking, OutboxMessage.Kind.HOLD_LAPSED, now=now)


def warn_of_next_hold(*, now: datetime) -> Booking | None:
    """Write to the next party whose hold is about to lapse and that was not told yet; None where there is none."""
    soon = Q(hold_kind=Booking.HoldKind.CHECKOUT, held_until__lte=now + WARN_CHECKOUT) | Q(
        hold_kind=Booking.HoldKind.OFFER, held_until__lte=now + WARN_OFFER
    )
    told = OutboxMessage.objects.filter(kind=OutboxMessage.Kind.HOLD_LAPSING, version=F("booking__version"))
    running = Booking.objects.filter(HELD, soon, held_until__gt=now).exclude(pk__in=told.values("booking"))
    booking = running.order_by("held_until", "pk").first()
    if booking is not None:
        _warn(booking, now=now)
    return booking


@act
def _warn(booking: Booking, *, now: datetime) -> None:
    """The booking is locked: it may just have been confirmed."""
    booking, _ = lock_booking(booking)
    if booking.state == Booking.State.HELD:
        write_to(booking, OutboxMessage.Kind.HOLD_LAPSING, now=now)
