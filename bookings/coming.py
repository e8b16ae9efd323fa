"""Who has a place on a walk, as far as its risk assessment may know: bands and arrangements, never names."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from django.db.models import Q

from bookings.models import Booking, Person, Place
from bookings.queries import ADULT
from walks.compute.risk_group import Coming
from walks.models import Walk


def coming_on(walk: Walk, *, now: datetime) -> Coming:
    """Who has a live place on `walk`. One query."""
    return comings([walk], now=now)[walk.pk]


def comings(walks: Iterable[Walk], *, now: datetime) -> dict[int, Coming]:
    """Who has a live place on each of the walks, by primary key. One query whatever their number."""
    people: dict[int, list[Person]] = {walk.pk: [] for walk in walks}
    live = Q(booking__state=Booking.State.CONFIRMED) | Q(booking__state=Booking.State.HELD, booking__held_until__gt=now)
    places = Place.objects.filter(live, walk__in=people, given_back_at=None)
    for place in places.select_related("person"):
        people[place.walk_id].append(place.person)
    return {key: _coming(found) for key, found in people.items()}


def _coming(people: list[Person]) -> Coming:
    children = [one for one in people if one.band != ADULT]
    return Coming(
        people=len(people),
        bands=frozenset(one.band for one in children),
        unaccompanied=any(one.guardian_id is None for one in children),
    )
