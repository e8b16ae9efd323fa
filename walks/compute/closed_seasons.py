"""Closed seasons: parts of every year in which a landowner lets nobody in. "1 March to 31 July", both days included."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

EXAMPLE = "1 March to 31 July"
MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
LENGTHS = (31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
RANGE = re.compile(r"(\d{1,2}) ([a-z]{3,9}) (?:to|until|-|–) (\d{1,2}) ([a-z]{3,9})", re.IGNORECASE)


class SeasonRefused(ValueError):
    """A line names no part of the year; the text says which, why, and what a good one looks like."""


@dataclass(frozen=True, slots=True)
class ClosedSeason:
    """First and last day as (month, day), both closed. A last day before the first one means over the new year."""

    first: tuple[int, int]
    last: tuple[int, int]

    def holds(self, day: date) -> bool:
        """Whether `day` lies in the season."""
        at = (day.month, day.day)
        if self.first <= self.last:
            return self.first <= at <= self.last
        return at >= self.first or at <= self.last

    @property
    def words(self) -> str:
        return f"{_day_words(self.first)} to {_day_words(self.last)}"

    @property
    def stored(self) -> list[str]:
        """As it is kept: ["03-01", "07-31"]."""
        return [f"{month:02d}-{day:02d}" for month, day in (self.first, self.last)]


def season_from(stored: list[str]) -> ClosedSeason:
    """The season that `stored` keeps."""
    first, last = ((int(one[:2]), int(one[3:])) for one in stored)
    return ClosedSeason(first, last)


def seasons_in(text: str) -> tuple[ClosedSeason, ...]:
    """The seasons that a person wrote, one a line; SeasonRefused for the first line that is none."""
    return tuple(_season_in(line) for line in _lines(text))


def _lines(text: str) -> Iterator[str]:
    return (tidied for line in text.splitlines() if (tidied := " ".join(line.split()).rstrip(".,;")))


def _season_in(line: str) -> ClosedSeason:
    match = RANGE.fullmatch(line)
    if match is None:
        raise SeasonRefused(f"“{line}” is no part of the year that can be read. Write it so: {EXAMPLE}.")
    return ClosedSeason(_day(line, match[1], match[2]), _day(line, match[3], match[4]))


def _day(line: str, day: str, name: str) -> tuple[int, int]:
    month = next((n for n, one in enumerate(MONTHS, start=1) if one.lower().startswith(name.lower())), None)
    if month is None:
        raise SeasonRefused(f"“{line}” names no month with “{name}”. Write it so: {EXAMPLE}.")
    if not 1 <= int(day) <= LENGTHS[month - 1]:
        raise SeasonRefused(f"“{line}”: {MONTHS[month - 1]} has no day {day}. Write it so: {EXAMPLE}.")
    return month, int(day)


def _day_words(at: tuple[int, int]) -> str:
    return f"{at[1]} {MONTHS[at[0] - 1]}"
