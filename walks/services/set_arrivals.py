"""Say how many cars and dogs may come to one walk, where it differs from its site."""

from __future__ import annotations

from datetime import datetime

from foraywright.floor.acts import By, act, record
from walks.models import Offering, Walk


@act
def set_arrivals(
    walk: Walk,
    *,
    own_car_spaces: int | None,
    own_most_dogs: int | None,
    own_shares_lifts: bool | None = None,
    by: By,
    now: datetime,
) -> Walk:
    """Give `walk` limits and a rule on lifts of its own; None: as the site says.

    What is announced already may then be more than the limit: it is shown as broken, since the space is gone whether
    we say so or not. The offering is locked, then its walk: a sale reads both.
    """
    offering = Offering.objects.select_for_update().get(pk=walk.offering_id)
    walk = Walk.objects.select_for_update().get(pk=walk.pk)
    walk.own_car_spaces, walk.own_most_dogs = own_car_spaces, own_most_dogs
    walk.own_shares_lifts = own_shares_lifts
    walk.save(update_fields=["own_car_spaces", "own_most_dogs", "own_shares_lifts"])
    record("set arrivals", offering, by=by, now=now, fields=("car_spaces", "most_dogs", "shares_lifts"))
    return walk
