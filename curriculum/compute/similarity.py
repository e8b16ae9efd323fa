"""How alike two taxa look, from 0 to 1.

Definition: the weighted mean of Gower, S = Σ w·s / Σ w over the characters that can be compared, with w = 1.
J. C. Gower, A general coefficient of similarity and some of its properties, Biometrics 27 (1971) 857-871: s is 1 or 0
for single states that agree or not, and 1 - |x - y| / R for single measures, R being the span of the character over all
taxa considered; a character that is unknown or inapplicable in one of the two has w = 0.
For several states, and for ranges, s = 1 - φ with the difference of M. Ichino and H. Yaguchi, Generalized Minkowski
metrics for mixed feature-type data analysis, IEEE Transactions on Systems, Man, and Cybernetics 24 (1994) 698-708:
φ = |A⊕B| - |A⊗B| + γ(2|A⊗B| - |A| - |B|), where ⊕ joins and ⊗ meets. States: γ = 0, divided by |A⊕B|, the only choice
that agrees with Gower on single states; ranges: γ = ½, divided by R, which is the mean distance of the ends.
(Gower's definition was read in summaries, that of Ichino and Yaguchi in two public programs; not in the papers.)
Bounds: the least and the greatest S over all single values that the two accounts admit, any value where one is unknown.
Less knowledge never lowers the upper bound.
It must not be taken for a separation: two taxa may be alike in nine characters and settled by the tenth.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from curriculum.compute.account import INAPPLICABLE, UNKNOWN, Interval, Value
from curriculum.compute.vocabulary import Character

ENOUGH_COMPARABLES = 8


@dataclass(frozen=True, slots=True)
class Similarity:
    """Score (None where nothing can be compared), its bounds, and on how many characters it rests."""

    score: float | None
    low: float
    high: float
    comparables: int
    unknowns: int


def similarity(
    this: Mapping[str, Value],
    other: Mapping[str, Value],
    characters: Iterable[Character],
    spans: Mapping[str, float],
) -> Similarity:
    """How alike two taxa are; values and spans by key of the character."""
    scores, bounds, unknowns = [], [], 0
    for one in characters:
        pair = this[one.key], other[one.key]
        if INAPPLICABLE in pair:
            continue
        unknowns += UNKNOWN in pair
        bounds.append((0.0, 1.0) if UNKNOWN in pair else _bounds(*pair, spans.get(one.key, 0.0)))
        if UNKNOWN not in pair:
            scores.append(_score(*pair, spans.get(one.key, 0.0)))
    lows, highs = [low for low, _ in bounds], [high for _, high in bounds]
    score = _mean(scores) if scores else None
    return Similarity(score, _mean(lows), _mean(highs, nothing=1.0), len(scores), unknowns)


def spans(values: Iterable[Mapping[str, Value]]) -> dict[str, float]:
    """The span of each measured character over all taxa, in millimetres; characters with states have none."""
    ends: dict[str, tuple[float, float]] = {}
    for one in values:
        for key, value in one.items():
            if isinstance(value, Interval):
                low, high = ends.get(key, (value.low, value.high))
                ends[key] = min(low, value.low), max(high, value.high)
    return {key: high - low for key, (low, high) in ends.items()}


def _score(this: Value, other: Value, span: float) -> float:
    if isinstance(this, Interval) and isinstance(other, Interval):
        return 1 - _share(abs(this.low - other.low) + abs(this.high - other.high), 2 * span)
    if isinstance(this, frozenset) and isinstance(other, frozenset):
        return len(this & other) / len(this | other)
    raise TypeError("one character cannot be a set of states in one taxon and a range in another")


def _bounds(this: Value, other: Value, span: float) -> tuple[float, float]:
    if isinstance(this, Interval) and isinstance(other, Interval):
        nearest = max(this.low - other.high, other.low - this.high, 0)
        farthest = max(this.high - other.low, other.high - this.low)
        return 1 - _share(farthest, span), 1 - _share(nearest, span)
    if isinstance(this, frozenset) and isinstance(other, frozenset):
        return float(this == other and len(this) == 1), float(bool(this & other))
    raise TypeError("one character cannot be a set of states in one taxon and a range in another")


def _share(part: float, whole: float) -> float:
    """`part` of `whole`; 0 where all taxa measure the same."""
    return part / whole if whole else 0.0


def _mean(numbers: list[float], nothing: float = 0.0) -> float:
    return sum(numbers) / len(numbers) if numbers else nothing
