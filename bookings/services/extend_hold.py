"""Hold places for longer: one press, twenty minutes from now."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from bookings.compute.hold_times import MOST_EXTENSIONS, checkout_end
from bookings.errors import NotExtended
from bookings.models import Booking, FormSent
from bookings.queries import is_live
from bookings.services.locks import lock_booking, was_sent_before
from foraywright.floor.acts import By, act, record


@act
def extend_hold(booking: Booking, *, key: str, by: By, now: datetime) -> Booking:
    """Move the end of a hold that is being paid to 20 minutes from now; the same key again does nothing more.

    Raises NotExtended. Offering and booking are locked: the worker could otherwise give the places away meanwhile.
    """
    booking, _ = lock_booking(booking)
    if was_sent_before(key):
        return booking
    reasons = list(_reasons_against(booking, now=now))
    if reasons:
        raise NotExtended("The hold was not made longer.", why=reasons, became=_became(booking, now=now))
    booking.held_until = checkout_end(now, session_ends_at=booking.session_ends_at)
    booking.extensions, booking.version = booking.extensions + 1, booking.version + 1
    booking.save(update_fields=["held_until", "extensions", "version"])
    FormSent.objects.create(key=key, booking=booking, act="extend hold", at=now)
    record("extend hold", booking, by=by, now=now, fields=("held_until",))
    return booking


def _reasons_against(booking: Booking, *, now: datetime) -> Iterator[str]:
    if booking.state != Booking.State.HELD or not is_live(booking, now=now):
        yield "These places are not held any more."
    elif booking.hold_kind != Booking.HoldKind.CHECKOUT:
        yield "An offer from the waiting list has a fixed end, because others wait after you."
    elif booking.extensions >= MOST_EXTENSIONS:
        yield f"A hold can be made longer {MOST_EXTENSIONS} times, and this one has been."
    elif booking.session_ends_at is not None and booking.held_until == booking.session_ends_at:
        yield "It lasts as long as the payment’s own page, which cannot be made longer."


def _became(booking: Booking, *, now: datetime) -> str:
    return "It ends when it was to end." if is_live(booking, now=now) else "Nothing is owed."
