"""The year of a season plan as a drawing: for each site a strip of weeks, its season behind, its walks upon it.

Heights are the most that any theme is worth at the site in the week, as a share of the best week of all sites.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

Kind = Literal["walk", "proposed", "pinned"]
WIDTH, HEIGHT, MARKS = 100.0, 52.0, 12.0
"""Across in per cent, so that marks keep their size on a phone; down in pixels, the marks above the bars."""


@dataclass(frozen=True, slots=True)
class Bar:
    """One week's bar of the season, across in per cent, down in pixels."""

    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Mark:
    """A walk or proposal on the strip: the middle of its mark."""

    x: float
    kind: Kind


@dataclass(frozen=True, slots=True)
class Month:
    """Where a month begins, and its initial."""

    x: float
    initial: str


@dataclass(frozen=True, slots=True)
class Strip:
    """One site's row."""

    name: str
    bars: tuple[Bar, ...]
    marks: tuple[Mark, ...]


def strips(
    first: date,
    last: date,
    names: Mapping[str, str],
    seasons: Mapping[str, Sequence[int]],
    marks: Iterable[tuple[str, date, Kind]],
) -> list[Strip]:
    """A strip for each site in `names`; `seasons` by week from `first`; `marks`: site, day, kind."""
    marks = list(marks)
    top = max((worth for one in seasons.values() for worth in one), default=0) or 1
    return [
        Strip(
            name,
            tuple(_bars(seasons.get(site, ()), top)),
            tuple(Mark(_across(first, last, day), kind) for place, day, kind in marks if place == site),
        )
        for site, name in names.items()
    ]


def _bars(weeks: Sequence[int], top: int) -> Iterable[Bar]:
    width = WIDTH / max(1, len(weeks))
    for number, worth in enumerate(weeks):
        height = (HEIGHT - MARKS) * worth / top
        if worth:
            yield Bar(round(number * width, 2), round(HEIGHT - height, 1), round(width * 0.86, 2), round(height, 1))


def months(first: date, last: date) -> list[Month]:
    """The first days of months within the window."""
    days = (first + timedelta(number) for number in range((last - first).days + 1))
    return [Month(_across(first, last, day), f"{day:%B}"[0]) for day in days if day.day == 1]


def _across(first: date, last: date, day: date) -> float:
    return round(WIDTH * ((day - first).days + 0.5) / ((last - first).days + 1), 2)
