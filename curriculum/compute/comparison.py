"""How one character tells two taxa apart: both ways, one way, or not at all.

Definition (our rule). Two sets of states are disjoint where no state of the one is a state of the other, or one that a
beginner takes for it. Two ranges are disjoint where the gap is more than 2 mm and more than 15 % of the lower one's
upper bound. The widest recorded value rules; unknown and inapplicable values are never disjoint from anything.
Both ways: disjoint. One way: some values of the one are out of reach of the other; such a value excludes the other, and
any other value proves nothing.
Symmetric: exchanging the two taxa exchanges the sides and nothing else.
It must not be taken for a distance: how far two values lie apart beyond the margin says nothing here.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TypeAlias

from curriculum.compute.account import INAPPLICABLE, UNKNOWN, Interval, Value
from curriculum.compute.vocabulary import Character

MARGIN_MM = 2
MARGIN_SHARE = 0.15

Beyond: TypeAlias = frozenset[str] | tuple[Interval, ...]
"""Values out of reach of the other taxon: states, or parts of a range. Empty where there are none."""


class Outcome(StrEnum):
    """What a character says of two taxa."""

    BOTH_WAYS = "both_ways"
    ONE_WAY = "one_way"
    OVERLAPS = "overlaps"
    UNKNOWN = "unknown"
    NOT_COMPARABLE = "not_comparable"


@dataclass(frozen=True, slots=True)
class Comparison:
    """One character of two taxa. Values in `excludes_other` are never those of the other taxon, and the reverse."""

    character: str
    outcome: Outcome
    this: Value
    other: Value
    excludes_other: Beyond = ()
    excludes_this: Beyond = ()

    @property
    def unknown_sides(self) -> tuple[str, ...]:
        """Which of "this" and "other" nobody recorded."""
        return tuple(side for side, value in (("this", self.this), ("other", self.other)) if value is UNKNOWN)


def compare(this: Value, other: Value, character: Character) -> Comparison:
    """What `character` says where the one taxon takes the values `this` and the other one `other`."""
    if INAPPLICABLE in (this, other):
        return Comparison(character.key, Outcome.NOT_COMPARABLE, this, other)
    if UNKNOWN in (this, other):
        return Comparison(character.key, Outcome.UNKNOWN, this, other)
    sides = beyond(this, other, character), beyond(other, this, character)
    return Comparison(character.key, _outcome(this, other, character, any(sides)), this, other, *sides)


def disjoint(this: Value, other: Value, character: Character) -> bool:
    """Whether no value of the one can be taken for a value of the other."""
    if isinstance(this, Interval) and isinstance(other, Interval):
        return apart(this.high, other.low) or apart(other.high, this.low)
    if isinstance(this, frozenset) and isinstance(other, frozenset):
        return not this & character.widened(other)
    return False


def apart(lower: float, upper: float) -> bool:
    """Whether a measure `lower` in millimetres cannot be taken for the larger measure `upper`."""
    return upper - lower > max(MARGIN_MM, MARGIN_SHARE * lower)


def beyond(this: Value, other: Value, character: Character) -> Beyond:
    """The values of `this` that a reader cannot take for a value of `other`; empty where either is missing."""
    if isinstance(this, Interval) and isinstance(other, Interval):
        return _parts_beyond(this, other)
    if isinstance(this, frozenset) and isinstance(other, frozenset):
        return this - character.widened(other)
    return ()


def _outcome(this: Value, other: Value, character: Character, one_way: bool) -> Outcome:
    if disjoint(this, other, character):
        return Outcome.BOTH_WAYS
    return Outcome.ONE_WAY if one_way else Outcome.OVERLAPS


def _parts_beyond(this: Interval, other: Interval) -> tuple[Interval, ...]:
    """What of `this` lies below or above `other` by more than the margin."""
    floor = min(other.low - MARGIN_MM, other.low / (1 + MARGIN_SHARE))
    ceiling = other.high + max(MARGIN_MM, MARGIN_SHARE * other.high)
    below = [Interval(this.low, min(this.high, floor))] if apart(this.low, other.low) else []
    above = [Interval(max(this.low, ceiling), this.high)] if apart(other.high, this.high) else []
    return (*below, *above)
