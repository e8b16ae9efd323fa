"""The step by which places that come late come without cars and dogs that have no room any more."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from bookings.arrivals import against_bringing
from bookings.models import Booking
from foraywright.floor.acts import require_act
from walks.compute.arrivals import Brought
from walks.models import Walk


def leave_behind(booking: Booking, walks: Sequence[Walk], *, now: datetime) -> None:
    """The step that takes off what a locked booking brings where it has no room: it never costs places (our rule).

    The letter on the places says what is announced. The act saves the booking.
    """
    require_act()
    if against_bringing(Brought(booking.cars, booking.dogs), walks, now=now, but=booking):
        booking.cars = booking.dogs = 0
