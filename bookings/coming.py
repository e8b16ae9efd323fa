"""Who has a place on a walk, as far as its risk assessment may know: bands and arrangements, never names."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime

from bookings.models import FollowUp, Person
from bookings.queries import ADULT, live_places
from walks.compute.risk_group import Coming
from walks.models import Walk


def coming_on(walk: Walk, *, now: datetime) -> Coming:
    """Who has a live place on `walk`. Two queries."""
    return comings([walk], now=now)[walk.pk]


def comings(walks: Sequence[Walk], *, now: datetime) -> dict[int, Coming]:
    """Who has a live place on each of the walks, by primary key. Two queries whatever their number.

    Dogs come where the walk's rule lets them, or where a party that booked under an earlier one still brings some.
    """
    with_dogs = {walk.pk for walk in walks if walk.arrivals.most_dogs}
    people: dict[int, list[Person]] = {walk.pk: [] for walk in walks}
    for place in live_places(*walks, now=now).select_related("person", "booking"):
        people[place.walk_id].append(place.person)
        if place.booking.dogs:
            with_dogs.add(place.walk_id)
    open_at = _follow_ups({walk.site_id for walk in walks})
    return {
        walk.pk: _coming(people[walk.pk], dogs=walk.pk in with_dogs, follow_ups=open_at.get(walk.site_id, ()))
        for walk in walks
    }


def _follow_ups(sites: set[int]) -> dict[int, list[str]]:
    """What is still to be done after incidents at each site. One query."""
    found: dict[int, list[str]] = {}
    rows = FollowUp.objects.filter(done_at=None, incident__walk__site__in=sites)
    for site, what in rows.values_list("incident__walk__site", "what"):
        found.setdefault(site, []).append(what)
    return found


def _coming(people: list[Person], *, dogs: bool, follow_ups: Iterable[str]) -> Coming:
    children = [one for one in people if one.band != ADULT]
    return Coming(
        people=len(people),
        bands=frozenset(one.band for one in children),
        unaccompanied=any(one.guardian_id is None for one in children),
        dogs=dogs,
        follow_ups=frozenset(follow_ups),
    )
