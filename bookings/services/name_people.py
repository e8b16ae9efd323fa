"""Say who is coming."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from bookings.errors import NotNamed
from bookings.models import Booking
from foraywright.floor.acts import By, act, record

OPEN = (Booking.State.CONFIRMED, Booking.State.HELD, Booking.State.WAITING)


@act
def name_people(booking: Booking, names: Mapping[str, str], *, by: By, now: datetime) -> None:
    """Give the people of the party the `names` by public id; ids of other parties are passed over. Raises NotNamed.

    The booking is locked: it could otherwise be cancelled, and its people erased, in between.
    """
    booking = Booking.objects.select_for_update().get(pk=booking.pk)
    if booking.state not in OPEN:
        raise NotNamed(
            f"This booking is {booking.get_state_display().lower()}, so nobody comes with it.",
            became="The names stay as they were.",
        )
    for person in booking.party.people.filter(public_id__in=names):
        person.name = names[person.public_id]
        person.save(update_fields=["name", "folded"])
    record("name people", booking, by=by, now=now, fields=("names",))
