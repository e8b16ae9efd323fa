"""A second, slow way to the limits of a walk, written from the definition without looking at the first.

It tries out groups of children one by one instead of dividing, and walks through the people instead of counting heads.
"""

from collections.abc import Iterator, Sequence
from functools import cache
from itertools import combinations_with_replacement, product

from walks.compute.age_bands import RatioPolicy
from walks.compute.head_count import PartyAges, Person
from walks.compute.limits import Cap, StaffMember


def broken_limits(
    policy: RatioPolicy, caps: Sequence[Cap], staff: Sequence[StaffMember], parties: Sequence[PartyAges]
) -> set[str]:
    """Keys of the limits that are broken."""
    people = [person for party in parties for person in party.people]
    children = [person for person in people if _child(person)]
    pool = [child for party in parties for child in _pool(policy, party)]
    in_charge = [adult for party in parties for adult in _in_charge(party)]
    broken = {cap.key for cap in caps if len(people) + (len(staff) if cap.counts == "everybody" else 0) > cap.figure}
    led = 0
    for member in staff:
        if member.adult and member.role == "guide":
            figures = [policy.participants_per_guide, member.largest_group]
            led += min(figure for figure in figures if figure is not None)
    if len(people) > led:
        broken.add("guides")
    checked = [member for member in staff if member.adult and member.background_check_in_date]
    if fewest_adults(policy, tuple(pool)) > len(checked):
        broken.add("pool")
    grown_staff = [member for member in staff if member.adult]
    if children and len(grown_staff) + len(in_charge) < policy.adults_with_any_child:
        broken.add("two-adults")
    if children and not grown_staff:
        broken.add("adult-staff")
    if children and not [member for member in grown_staff if member.role == "guide" and member.may_lead_children]:
        broken.add("children-guide")
    return broken


def fewest_adults(policy: RatioPolicy, ratios: tuple[int, ...]) -> int:
    """Fewest adults for children of these ratios, each adult with children of one ratio, by trying every grouping."""

    @cache
    def fewest(left: tuple[int, ...]) -> int:
        if not left:
            return 0
        return min(1 + fewest(rest) for rest in _without_one_group(left))

    return fewest(tuple(sorted(ratios)))


def _without_one_group(left: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
    for ratio in set(left):
        for size in range(1, min(ratio, left.count(ratio)) + 1):
            rest = list(left)
            for _ in range(size):
                rest.remove(ratio)
            yield tuple(rest)


def _child(person: Person) -> bool:
    return person.age is None or person.age < 18


def _in_charge(party: PartyAges) -> list[Person]:
    return [
        adult
        for place, adult in enumerate(party.people)
        if not _child(adult) and any(_child(person) and person.guardian == place for person in party.people)
    ]


def _pool(policy: RatioPolicy, party: PartyAges) -> list[int]:
    """The ratio of each child whom the pool must serve."""
    free: dict[int, int] = {}
    pool = []
    for child in sorted(filter(_child, party.people), key=lambda person: _ratio(policy, person)):
        guardian = child.guardian
        if guardian is None or _child(party.people[guardian]):
            pool.append(_ratio(policy, child))
            continue
        free.setdefault(guardian, _ratio(policy, child))
        if free[guardian] > 0:
            free[guardian] -= 1
        else:
            pool.append(_ratio(policy, child))
    return pool


def _ratio(policy: RatioPolicy, child: Person) -> int:
    if child.age is None:
        return min(band.children_per_adult for band in policy.bands)
    return next(band.children_per_adult for band in policy.bands if band.from_age <= child.age <= band.to_age)


def every_party(size: int) -> Iterator[PartyAges]:
    """Every party of `size` people up to order: each band, unknown age, adults, and every choice of guardian."""
    for adults in range(size + 1):
        places = (None, *range(adults))
        for ages in combinations_with_replacement((1, 3, 6, 10, 15, None), size - adults):
            for guardians in product(places, repeat=size - adults):
                children = (Person(age, guardian) for age, guardian in zip(ages, guardians, strict=True))
                yield PartyAges((*[Person(40)] * adults, *children))
