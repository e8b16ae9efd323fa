"""Who has a place on a walk, as far as its risk assessment may know: bands and arrangements, never names."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime

from django.db.models import Q

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
    still_open, lasting = _follow_ups({walk.site_id for walk in walks})
    return {
        walk.pk: replace(
            _coming(people[walk.pk], dogs=walk.pk in with_dogs),
            follow_ups=frozenset(still_open[walk.site_id]),
            lasting=frozenset(lasting[walk.site_id]),
        )
        for walk in walks
    }


def _follow_ups(sites: set[int]) -> tuple[Mapping[int, list[str]], Mapping[int, list[str]]]:
    """What is still to be done after incidents at each site, and what every walk there does since. One query."""
    still_open: dict[int, list[str]] = defaultdict(list)
    lasting: dict[int, list[str]] = defaultdict(list)
    rows = FollowUp.objects.filter(Q(done_at=None) | Q(lasts=True), incident__walk__site__in=sites)
    for site, what, lasts in rows.values_list("incident__walk__site", "what", "lasts"):
        (lasting if lasts else still_open)[site].append(what)
    return still_open, lasting


def _coming(people: list[Person], *, dogs: bool) -> Coming:
    children = [one for one in people if one.band != ADULT]
    return Coming(
        people=len(people),
        bands=frozenset(one.band for one in children),
        unaccompanied=any(one.guardian_id is None for one in children),
        dogs=dogs,
    )
