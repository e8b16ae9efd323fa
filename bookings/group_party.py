"""The party of a group: its own leaders in charge of its children, in turn."""

from __future__ import annotations

from collections.abc import Sequence

from bookings.models import GroupQuote, Person
from bookings.queries import ADULT
from bookings.services.orders import new_people
from walks.compute.head_count import PartyAges
from walks.compute.head_count import Person as PersonAge
from walks.queries import ratio_policy


def people_of_group(quote: GroupQuote) -> list[Person]:
    """Everybody of the quoted group, not yet saved: leaders first, then other adults, then children by age."""
    policy = ratio_policy(quote.offering.ratios)
    order = [ADULT, *(band.key for band in policy.bands)]
    people = new_people([ADULT] * quote.leaders + sorted(quote.bands, key=order.index), (), policy)
    for one in people[: quote.leaders]:
        one.is_leader = True
    return people


def charge_of(people: Sequence[Person], leaders: int) -> dict[int, int]:
    """Place of a child among `people` → place of the leader in charge. Children by age are dealt to leaders in turn,
    so that no leader has the youngest alone; whom a leader may not take by the ratio joins the pool."""
    children = [place for place, one in enumerate(people) if one.band != ADULT]
    return {place: number % leaders for number, place in enumerate(children)} if leaders else {}


def ages_of_group(people: Sequence[Person], leaders: int) -> PartyAges:
    """The group as the ratios count it."""
    charge = charge_of(people, leaders)
    return PartyAges(tuple(PersonAge(one.youngest_age, charge.get(place)) for place, one in enumerate(people)))
