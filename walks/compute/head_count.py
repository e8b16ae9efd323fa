"""Who comes on a walk, counted the way the limits need it."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from walks.compute.age_bands import RatioPolicy, is_adult


@dataclass(frozen=True, slots=True)
class Person:
    """One participant: age in completed years on the walk's day (None = unknown) and the place in the same party of
    the guardian in charge (None = nobody)."""

    age: int | None
    guardian: int | None = None


@dataclass(frozen=True, slots=True)
class PartyAges:
    """The participants of one booking. A guardian outside the party is a ValueError, never a guess."""

    people: tuple[Person, ...]

    def __post_init__(self) -> None:
        for place, person in enumerate(self.people):
            if person.guardian is not None and not 0 <= person.guardian < len(self.people):
                raise ValueError(f"Person {place} names guardian {person.guardian}, who is not in this party.")

    def first(self, number: int) -> "PartyAges":
        """The party cut to `number` people, adults kept first, so that no guardian goes before a child does."""
        order = sorted(range(len(self.people)), key=lambda place: not is_adult(self.people[place].age))[:number]
        new_place = {old: new for new, old in enumerate(order)}
        kept = (self.people[old] for old in order)
        return PartyAges(tuple(Person(p.age, None if p.guardian is None else new_place.get(p.guardian)) for p in kept))


@dataclass(frozen=True, slots=True)
class HeadCount:
    """Participants by what they mean for a limit.

    `pool` = children whom nobody of their own party looks after, by band of the policy; `guardians` = adults in charge
    of at least one child of their own party.
    """

    participants: int
    children: int
    guardians: int
    pool: tuple[int, ...]

    def __add__(self, other: "HeadCount") -> "HeadCount":
        return HeadCount(
            self.participants + other.participants,
            self.children + other.children,
            self.guardians + other.guardians,
            tuple(a + b for a, b in zip(self.pool, other.pool, strict=True)),
        )


def count_party(policy: RatioPolicy, party: PartyAges) -> HeadCount:
    """Head count of one party.

    A guardian in charge serves only children of the own party, at the ratio of the youngest of them; the youngest are
    served first and those beyond the ratio join the pool. A guardian who is no adult, or of unknown age, serves nobody.
    """
    guardians = _guardians(party)
    alone = [p.age for p in party.people if not is_adult(p.age) and p.guardian not in guardians]
    pool = Counter(policy.band_number(age) for age in alone)
    for guardian in guardians:
        pool.update(_beyond_guardian(policy, [p.age for p in party.people if p.guardian == guardian]))
    return HeadCount(
        participants=len(party.people),
        children=sum(not is_adult(p.age) for p in party.people),
        guardians=len(guardians),
        pool=tuple(pool[number] for number in range(len(policy.bands))),
    )


def count_parties(policy: RatioPolicy, parties: Iterable[PartyAges]) -> HeadCount:
    """Head count of all parties of a walk; their order does not matter."""
    return sum((count_party(policy, party) for party in parties), HeadCount(0, 0, 0, (0,) * len(policy.bands)))


def _guardians(party: PartyAges) -> set[int]:
    named = {p.guardian for p in party.people if p.guardian is not None and not is_adult(p.age)}
    return {place for place in named if is_adult(party.people[place].age)}


def _beyond_guardian(policy: RatioPolicy, ages: list[int | None]) -> list[int]:
    bands = sorted(policy.band_number(age) for age in ages if not is_adult(age))
    return bands[policy.bands[bands[0]].children_per_adult :]
