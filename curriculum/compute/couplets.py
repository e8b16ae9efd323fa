"""The couplets a key can be made of: two leads of one character, and which taxa go down each.

Definition (our rule). The states of the first lead and those of the second are never taken for one another by a
beginner; a range is cut in a gap of more than the margin of `comparison`. A taxon goes down one lead only if all its
values belong to that lead; otherwise, and where it is unknown or inapplicable, down both. So does a reader whose
specimen shows what neither lead names. A place (habitat, wood, host) never sends a deadly taxon down one lead.
Hence a couplet parts two taxa only by a character that is disjoint in the sense of `comparison`, and every such
character makes a couplet that parts them.
It must not be taken for a statement about which lead is likelier.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import TypeAlias

from curriculum.compute.account import Account, Interval, Value
from curriculum.compute.comparison import apart
from curriculum.compute.separation import DEADLY, HABITAT_GROUP
from curriculum.compute.vocabulary import Character

Test: TypeAlias = frozenset[str] | Interval
Reading: TypeAlias = str | float | None
"""What is seen on a specimen: a state, a measure in millimetres, or None where it cannot be seen."""

FEW_VALUES = 12


@dataclass(frozen=True, slots=True)
class Split:
    """A couplet before it is chosen. Taxa are bits: those of `first` go down the first lead only, and so on."""

    character: Character
    first: int
    second: int

    def parts(self, node: int) -> bool:
        """Whether it sends some of the taxa `node` down one lead only, and others down the other only."""
        return bool(self.first & node) and bool(self.second & node)

    def leads(self, node: int) -> tuple[int, int]:
        """The taxa that go down the first lead and those that go down the second."""
        return node & ~self.second, node & ~self.first


def splits(
    accounts: Sequence[Account], values: Mapping[str, Mapping[str, Value]], characters: Iterable[Character]
) -> tuple[Split, ...]:
    """All couplets that part any two of the accounts; bit n stands for the n-th account."""
    found: dict[tuple[str, frozenset[int]], Split] = {}
    for one in characters:
        column = [_value(account, values, one) for account in accounts]
        for first, second in _ranges(column) if one.kind == "range" else _states(column, one):
            if first and second:
                found.setdefault((one.key, frozenset((first, second))), Split(one, first, second))
    return tuple(found.values())


def tests(split: Split, node: int, column: Sequence[Value]) -> tuple[Test, Test]:
    """What the two leads name, for the taxa `node`; `column` holds the character's value of each account."""
    ours = [column[place] for place in bits(split.first & node)]
    theirs = [column[place] for place in bits(split.second & node)]
    if split.character.kind == "range":
        highest = max(one.high for one in ours if isinstance(one, Interval))
        lowest = min(one.low for one in theirs if isinstance(one, Interval))
        return Interval(0, highest), Interval(lowest, float("inf"))
    return _named(ours), _named(theirs)


def follows(test: Test, other: Test, reading: Reading) -> bool:
    """Whether a reader goes down the lead that names `test`: what neither lead names goes down both."""
    return shows(test, reading) or not shows(other, reading)


def shows(test: Test, reading: Reading) -> bool:
    """Whether the lead names what is seen."""
    if isinstance(test, Interval):
        return isinstance(reading, int | float) and test.low <= reading <= test.high
    return reading in test


def bits(mask: int) -> Iterator[int]:
    """The places of the bits that are set, lowest first."""
    while mask:
        low = mask & -mask
        yield low.bit_length() - 1
        mask ^= low


def _value(account: Account, values: Mapping[str, Mapping[str, Value]], character: Character) -> Value | None:
    """None where the taxon has to go down both leads whatever is recorded."""
    if character.evidence_group == HABITAT_GROUP and account.edibility == DEADLY:
        return None
    return values[account.taxon][character.key]


def _ranges(column: Sequence[Value | None]) -> Iterator[tuple[int, int]]:
    """Cuts above the upper bound of each range: what ends below, and what begins above the margin."""
    ranges = [(place, one) for place, one in enumerate(column) if isinstance(one, Interval)]
    for cut in sorted({one.high for _, one in ranges}):
        first = sum(1 << place for place, one in ranges if one.high <= cut)
        second = sum(1 << place for place, one in ranges if apart(cut, one.low))
        yield first, second


def _states(column: Sequence[Value | None], character: Character) -> Iterator[tuple[int, int]]:
    """For each value, state and pair of values: it on the one side, all that is not taken for it on the other."""
    known = [(place, one) for place, one in enumerate(column) if isinstance(one, frozenset)]
    every = frozenset(character.states)
    for chosen in _sides({one for _, one in known}):
        second = every - character.widened(chosen)
        first = every - character.widened(second)
        yield (
            sum(1 << place for place, one in known if one <= first),
            sum(1 << place for place, one in known if one <= second),
        )


def _sides(values: set[frozenset[str]]) -> Iterator[frozenset[str]]:
    ordered = sorted(values, key=sorted)
    yield from ordered
    yield from (frozenset([state]) for state in sorted(set().union(*ordered)))
    if len(ordered) <= FEW_VALUES:
        yield from (one | other for one, other in combinations(ordered, 2))


def _named(values: Iterable[Value]) -> frozenset[str]:
    return frozenset().union(*(one for one in values if isinstance(one, frozenset)))
