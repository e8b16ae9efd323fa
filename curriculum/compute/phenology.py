"""The season as a chance: how likely a standard walk meets a taxon on a day, and how sure that is.

Definitions (our rule; no published standard):

- A day is the angle θ = 2π(day of the year − ½) / length of the year, and a month the arc of its true length.
- The *level* of a day is a mixture of twelve von Mises densities, one a month: its mass is the month's weight (out
  0.02, in 1, peak 3) times its arc, its mean the middle of the arc, its circular standard deviation half of the arc,
  because seasons come half a month early or late. A season all year has the level 1 within 7 % on every
  day; the level never falls when a month is added or called a peak. The year has no seam.
- The prior chance m of a standard walk is BEST · level / 3, times a factor for the habitat and one for the host trees:
  1 where they are shared or play no part, ½ where the ground is not known, 1/20 where they differ. It never falls below
  LEAST: nothing is impossible.
- The chance is Beta(m·n₀, (1 − m)·n₀) with n₀ = 4 walks. A complete list of Δθ away adds exp(κ(cos Δθ − 1)) to
  successes or failures, κ as above for a mean month; a casual list only to successes: what a casual list omits may
  have been there (D. I. MacKenzie et al., Ecology 83 (2002) 2248-2255, recalled). Mean and central 90 % interval.

Danger is never silenced: failures do not count for a poisonous or deadly taxon, so own finds may raise its chance and
never lower it. Whether it is named for a walk hangs on published months and habitat alone (see expected.py).
It must not be taken for a promise, nor a low chance for safety.
"""

from __future__ import annotations

import math
from calendar import isleap, monthrange
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from itertools import pairwise

from curriculum.compute.account import Season
from curriculum.compute.beta import beta_quantile
from curriculum.compute.circular import TURN, concentration, von_mises
from curriculum.compute.half_months import HALF_MONTHS

OUT, IN, PEAK = 0.02, 1.0, 3.0
BEST, LEAST = 0.8, 0.005
SHARED, NOT_KNOWN, DIFFERENT = 1.0, 0.5, 0.05
PRIOR_WALKS = 4.0
INTERVAL = 0.9
ANY_YEAR = 2001
NO_PEAK = 1.5
BELOW_BEST = 5 / 6


@dataclass(frozen=True, slots=True)
class FindList:
    """What one walk noted. `complete`: everything of the curriculum that was seen is on it, in the time it took."""

    day: date
    taxa: frozenset[str]
    complete: bool


@dataclass(frozen=True, slots=True)
class Chance:
    """The chance of a standard walk to meet the taxon, with the central 90 % interval. All from 0 to 1."""

    mean: float
    low: float
    high: float

    @property
    def words(self) -> str:
        """The mean for readers, to the nearest 5 %: "about 35 %"."""
        percent = 5 * round(20 * self.mean)
        return f"about {percent} %" if percent else "under 5 %"

    @property
    def interval_words(self) -> str:
        """The interval for readers: "between 2 % and 66 %, nine times in ten"."""
        return f"between {100 * self.low:.0f} % and {100 * self.high:.0f} %, nine times in ten"


def chance_of_meeting(
    taxon: str, season: Season, day: date, *, fit: float, lists: Iterable[FindList] = (), dangerous: bool
) -> Chance:
    """The chance on `day` where the ground fits by the factor `fit`, after the walks of `lists`."""
    prior = prior_chance(season, day, fit)
    successes, failures = prior * PRIOR_WALKS, (1 - prior) * PRIOR_WALKS
    for one in lists:
        weight = nearness(one.day, day)
        if taxon in one.taxa:
            successes += weight
        elif one.complete and not dangerous:
            failures += weight
    tail = (1 - INTERVAL) / 2
    return Chance(
        mean=successes / (successes + failures),
        low=beta_quantile(tail, successes, failures),
        high=beta_quantile(1 - tail, successes, failures),
    )


def prior_chance(season: Season, day: date, fit: float) -> float:
    """The chance on `day` before any own find."""
    return max(LEAST, fit * BEST * level(season, day) / PEAK)


def fit_of(*factors: bool | None) -> float:
    """The factor of the ground: for habitat and for hosts True where shared or of no matter, None where not known."""
    return math.prod({True: SHARED, None: NOT_KNOWN, False: DIFFERENT}[one] for one in factors)


def nearness(one: date, other: date) -> float:
    """How much a walk on the one day tells of the other: 1 on the same day of the year, 0.13 a month away."""
    return math.exp(_KAPPA * (math.cos(angle(one) - angle(other)) - 1))


def angle(day: date) -> float:
    """The day as an angle in radians, its noon; 0 is the turn of the year."""
    return TURN * (day.timetuple().tm_yday - 0.5) / (366 if isleap(day.year) else 365)


def level(season: Season, day: date) -> float:
    """The level of the season on a day: about 0.02 far out of it, 1 in it, up to 3 where it is at its best."""
    return _level(season, angle(day), isleap(day.year))


@lru_cache(maxsize=1024)
def season_curve(season: Season) -> tuple[float, ...]:
    """24 shares, 0 to 1, for the half-months: what a season strip shows.

    The published months say where it is above 0 and their best ones where it is 1; between, it is the level at the
    middle of the half-month, so that a strip claims no month that its source does not name.
    """
    top = PEAK if season.peak else NO_PEAK
    return tuple(_share(season, half, top) for half in range(HALF_MONTHS))


def _share(season: Season, half: int, top: float) -> float:
    month = half // 2 + 1
    if month in season.peak:
        return 1.0
    if month not in season.months:
        return 0.0
    days = monthrange(ANY_YEAR, month)[1]
    middle = angle(date(ANY_YEAR, month, 1)) + TURN / 365 * (days * (0.25 if half % 2 == 0 else 0.75) - 0.5)
    return min(BELOW_BEST, _level(season, middle, False) / top)


@lru_cache(maxsize=200_000)
def _level(season: Season, at: float, leap: bool) -> float:
    return math.fsum(mass * von_mises(at, mean, kappa) for mass, mean, kappa in _mixture(season, leap))


@lru_cache(maxsize=2048)
def _mixture(season: Season, leap: bool) -> tuple[tuple[float, float, float], ...]:
    """Mass, mean and κ of the component of each month."""
    return tuple(
        (_weight(season, month) * (end - start), (start + end) / 2, _kappa((end - start) / 2))
        for month, (start, end) in enumerate(_arcs(leap), 1)
    )


def _weight(season: Season, month: int) -> float:
    return PEAK if month in season.peak else IN if month in season.months else OUT


@lru_cache(maxsize=2)
def _arcs(leap: bool) -> tuple[tuple[float, float], ...]:
    lengths = [monthrange(2000 if leap else ANY_YEAR, month)[1] for month in range(1, 13)]
    ends = [TURN * sum(lengths[:month]) / sum(lengths) for month in range(13)]
    return tuple(pairwise(ends))


@lru_cache(maxsize=64)
def _kappa(deviation: float) -> float:
    """κ for a circular standard deviation s in radians: the mean resultant length is exp(−s²/2)."""
    return concentration(math.exp(-(deviation**2) / 2))


_KAPPA = _kappa(TURN / 24)
