"""Which taxa to expect on a day at a place.

Taught taxa: out in that half-month (weight of the season strip above 0), in a habitat of the site or of unknown
habitat, and, where both the hosts of the taxon and the trees of the site are known, with a tree in common. Source: our
rule. It must not be taken for a promise, nor the weight for a probability.

Danger is never silenced: a poisonous or deadly taxon is expected on any day within its published months, widened by
half a month at either end, wherever the habitat fits, is one that a beginner takes for it, or is unknown; hosts never
rule it out.
"""

from __future__ import annotations

import datetime
from collections.abc import Collection, Iterable
from dataclasses import dataclass

from curriculum.compute.account import Account
from curriculum.compute.half_months import HALF_MONTHS, half_month, half_month_weights
from curriculum.compute.vocabulary import Character, Vocabulary


@dataclass(frozen=True, slots=True)
class Ground:
    """What a place offers: keys of habitats and of host trees. Empty means unknown, which rules nothing out."""

    habitats: frozenset[str]
    hosts: frozenset[str]


@dataclass(frozen=True, slots=True)
class Expected:
    """A taxon to look for: `weight` of its season strip on the day (0 to 1), whether the theme wants it."""

    account: Account
    weight: float
    wanted: bool


@dataclass(frozen=True, slots=True)
class Expectation:
    """`taught`: wanted ones first, then by weight. `not_now`: wanted, not to be expected. `dangers`: deadly first."""

    taught: tuple[Expected, ...]
    not_now: tuple[Account, ...]
    dangers: tuple[Account, ...]


def expectation(
    accounts: Iterable[Account],
    *,
    day: datetime.date,
    ground: Ground,
    wanted: Collection[str],
    vocabulary: Vocabulary,
) -> Expectation:
    """What the walk of `day` on `ground` with a theme that wants the taxa `wanted` has to expect."""
    accounts = tuple(accounts)
    edibility, place = vocabulary.terms["edibility"], vocabulary.characters["habitat"]
    taught = [one for one in accounts if one.role == "taught"]
    met = [Expected(one, weight, one.taxon in wanted) for one in taught if (weight := _weight(one, day, ground))]
    met.sort(key=lambda one: (not one.wanted, -one.weight, one.account.vernacular()))
    out = {one.account.taxon for one in met}
    dangers = [one for one in accounts if edibility[one.edibility].danger and _may_be_met(one, day, ground, place)]
    dangers.sort(key=lambda one: (-edibility[one.edibility].rank, one.vernacular()))
    return Expectation(
        taught=tuple(met),
        not_now=tuple(one for one in taught if one.taxon in wanted and one.taxon not in out),
        dangers=tuple(dangers),
    )


def _weight(account: Account, day: datetime.date, ground: Ground) -> float:
    if not _shares(account.habitats, ground.habitats) or not _shares(account.hosts, ground.hosts):
        return 0.0
    return half_month_weights(account.season.months, account.season.peak)[half_month(day)]


def _may_be_met(account: Account, day: datetime.date, ground: Ground, place: Character) -> bool:
    weights = half_month_weights(account.season.months, account.season.peak)
    here = half_month(day)
    near = (weights[here - 1], weights[here], weights[(here + 1) % HALF_MONTHS])
    return any(near) and _shares(place.widened(account.habitats), ground.habitats)


def _shares(theirs: Collection[str], ours: Collection[str]) -> bool:
    """True where the two meet or either is unknown."""
    return not theirs or not ours or bool(set(theirs) & set(ours))
