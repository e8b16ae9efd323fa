"""Which taxa to expect on a day at a place.

Taught taxa: out in that half-month (in a month that the account names), in a habitat of the site or of unknown
habitat, and, where both the hosts of the taxon and the trees of the site are known, with a tree in common; each with
its chance by the season model (phenology.py). Source: our rule. It must not be taken for a promise.

Danger is never silenced: a poisonous or deadly taxon is expected on any day within its published months, widened by
half a month at either end, or on any day where no months are known, wherever the habitat fits, is one that a beginner
takes for it, or is unknown; neither hosts nor own finds rule it out.
"""

from __future__ import annotations

import datetime
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from curriculum.compute.account import Account
from curriculum.compute.half_months import HALF_MONTHS, half_month, half_month_weights
from curriculum.compute.phenology import Chance, FindList, chance_of_meeting, fit_of, prior_chance
from curriculum.compute.vocabulary import Character, Vocabulary


@dataclass(frozen=True, slots=True)
class Ground:
    """What a place offers: keys of habitats and of host trees. Empty means unknown, which rules nothing out."""

    habitats: frozenset[str]
    hosts: frozenset[str]


@dataclass(frozen=True, slots=True)
class Expected:
    """A taxon to look for: the chance that the walk meets it, and whether the theme wants it."""

    account: Account
    chance: Chance
    wanted: bool


@dataclass(frozen=True, slots=True)
class Expectation:
    """`taught`: wanted ones first, then by chance. `not_now`: wanted, not to be expected. `dangers`: deadly first."""

    taught: tuple[Expected, ...]
    not_now: tuple[Account, ...]
    dangers: tuple[Account, ...]

    @property
    def number(self) -> float:
        """How many of the taught taxa the walk meets on average: the sum of their chances."""
        return expected_number(self.taught)


def expected_number(taxa: Iterable[Expected]) -> float:
    """How many of these taxa a walk meets on average, Σ p; whether they keep company plays no part in it."""
    return sum(one.chance.mean for one in taxa)


def expectation(
    accounts: Iterable[Account],
    *,
    day: datetime.date,
    ground: Ground,
    wanted: Collection[str],
    vocabulary: Vocabulary,
    lists: Sequence[FindList] = (),
) -> Expectation:
    """What the walk of `day` on `ground` with a theme that wants the taxa `wanted` has to expect.

    `lists` are the finds of earlier walks on like ground. They move chances, never what is named.
    """
    accounts = tuple(accounts)
    edibility, place = vocabulary.terms["edibility"], vocabulary.characters["habitat"]
    taught = [one for one in accounts if one.role == "taught"]
    met = [
        Expected(one, _chance(one, day, ground, lists, dangerous=edibility[one.edibility].danger), one.taxon in wanted)
        for one in taught
        if _is_out(one, day, ground)
    ]
    met.sort(key=lambda one: (not one.wanted, -one.chance.mean, one.account.vernacular()))
    out = {one.account.taxon for one in met}
    dangers = [one for one in accounts if edibility[one.edibility].danger and _may_be_met(one, day, ground, place)]
    dangers.sort(key=lambda one: (-edibility[one.edibility].rank, one.vernacular()))
    return Expectation(
        taught=tuple(met),
        not_now=tuple(one for one in taught if one.taxon in wanted and one.taxon not in out),
        dangers=tuple(dangers),
    )


def mean_chance(account: Account, day: datetime.date, ground: Ground) -> float:
    """The chance of a taught taxon on `day` before any own find, 0 where it is not to be expected: for plans."""
    if not _is_out(account, day, ground):
        return 0.0
    return prior_chance(account.season, day, _fit(account, ground))


def _is_out(account: Account, day: datetime.date, ground: Ground) -> bool:
    if not _shares(account.habitats, ground.habitats) or not _shares(account.hosts, ground.hosts):
        return False
    return half_month_weights(account.season.months, account.season.peak)[half_month(day)] > 0


def _chance(
    account: Account, day: datetime.date, ground: Ground, lists: Sequence[FindList], *, dangerous: bool
) -> Chance:
    fit = _fit(account, ground)
    return chance_of_meeting(account.taxon, account.season, day, fit=fit, lists=lists, dangerous=dangerous)


def _fit(account: Account, ground: Ground) -> float:
    """Hosts play no part where the account names none."""
    hosts = _known_to_share(account.hosts, ground.hosts) if account.hosts else True
    return fit_of(_known_to_share(account.habitats, ground.habitats), hosts)


def _may_be_met(account: Account, day: datetime.date, ground: Ground, place: Character) -> bool:
    weights = half_month_weights(account.season.months, account.season.peak)
    here = half_month(day)
    near = (weights[here - 1], weights[here], weights[(here + 1) % HALF_MONTHS])
    in_time = any(near) or not account.season.months
    return in_time and _shares(place.widened(account.habitats), ground.habitats)


def _shares(theirs: Collection[str], ours: Collection[str]) -> bool:
    """True where the two meet or either is unknown."""
    return not theirs or not ours or bool(set(theirs) & set(ours))


def _known_to_share(theirs: Collection[str], ours: Collection[str]) -> bool | None:
    """Whether the two meet; None where either is unknown."""
    return bool(set(theirs) & set(ours)) if theirs and ours else None
