"""The year in 24 half-months, and how likely a taxon is in each, from the months that an account names.

Definition: half-month 0 is 1 to 15 January, 1 the rest of January, and so on to 23 (our rule). A weight is 0 where the
taxon is not out, 1 at its best, and otherwise 2/3 in a month of the season. At the first and last half-month of the
season, where the neighbour is out, it is 1/3; the half of a season month that touches a peak is 5/6. The year has no
seam.
It must not be taken for a chance of meeting the taxon: the season model computes that.
"""

import datetime
from collections.abc import Collection
from functools import lru_cache

HALF_MONTHS = 24
OUT, EDGE, IN, RISING, PEAK = 0.0, 1 / 3, 2 / 3, 5 / 6, 1.0


def half_month(day: datetime.date) -> int:
    """The half-month, 0 to 23, that holds the day."""
    return 2 * (day.month - 1) + (1 if day.day > 15 else 0)


def half_month_weights(months: Collection[int], peak: Collection[int] = ()) -> tuple[float, ...]:
    """24 weights from 0 (not out) to 1 (at its best); months are numbered 1 to 12, and peak months count as season."""
    return _weights(frozenset(months), frozenset(peak))


@lru_cache(maxsize=1_000)
def _weights(months: frozenset[int], peak: frozenset[int]) -> tuple[float, ...]:
    levels = [_level(half // 2 + 1, months, peak) for half in range(HALF_MONTHS)]
    return tuple(_stepped(levels, half) for half in range(HALF_MONTHS))


def _level(month: int, months: Collection[int], peak: Collection[int]) -> float:
    return PEAK if month in peak else IN if month in months else OUT


def _stepped(levels: list[float], half: int) -> float:
    beside = (levels[half - 1], levels[(half + 1) % HALF_MONTHS])
    if levels[half] != IN:
        return levels[half]
    if OUT in beside:
        return EDGE
    return RISING if PEAK in beside else IN
