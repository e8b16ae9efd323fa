"""A party says how many cars and dogs it brings."""

from __future__ import annotations

from datetime import datetime

from bookings.arrivals import against_bringing
from bookings.errors import NotBrought
from bookings.models import Booking
from bookings.queries import is_live
from bookings.services.locks import lock_booking
from bookings.services.selling import walks_to_come
from foraywright.floor.acts import By, act, record
from walks.compute.arrivals import Brought

STAYS = "Your places and what you said before stay as they were."


@act
def say_what_comes_along(booking: Booking, brings: Brought, *, by: By, now: datetime) -> Booking:
    """Keep what the party brings. Raises NotBrought where there is no room for it, or for a booking that is not live.

    The offering is locked first: two parties after the last car space would otherwise both get it.
    """
    booking, _ = lock_booking(booking)
    if not is_live(booking, now=now):
        raise NotBrought("Nobody comes with this booking now.", became=STAYS)
    before = Brought(booking.cars, booking.dogs)
    reasons = against_bringing(_more(before, brings), walks_to_come(booking.offering, now=now), now=now, but=None)
    if reasons:
        raise NotBrought("Not everything that you bring has room.", why=reasons, became=STAYS, now=SHARE)
    booking.cars, booking.dogs = brings.cars, brings.dogs
    booking.save(update_fields=["cars", "dogs"])
    record("say what comes along", booking, by=by, now=now, fields=("cars", "dogs"))
    return booking


SHARE = "Come with fewer, or share a car."


def _more(before: Brought, after: Brought) -> Brought:
    """What comes on top of what was said: who brings fewer always may, though the limit were broken."""
    return Brought(max(0, after.cars - before.cars), max(0, after.dogs - before.dogs))
