"""How long what is personal is kept. Our rule, with the years of the law as data; it is no legal advice."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta

HEALTH_MARGIN = timedelta(days=14)
"""Added to the longest onset taught: an illness after the walk must still find what the person declared."""


@dataclass(frozen=True, slots=True)
class Limitation:
    """Years in which a claim may be brought after the day in question: by `contract`, for `injury`; a child's own years
    run from the birthday at which it is `of_age`."""

    contract: int
    injury: int
    of_age: int
    source: str


def health_until(last_walk_ends: datetime, longest_onset: timedelta) -> datetime:
    """When health answers are erased: the longest onset taught after the last walk, and a margin of 14 days."""
    return last_walk_ends + longest_onset + HEALTH_MARGIN


def evidence_until(last_walk: date, youngest_age: int | None, law: Limitation) -> date:
    """The last day on which names and evidence are kept, for a person of at least `youngest_age` (None: not known).

    An adult: the longer of the two periods. A child: until its own years are over, counted from the youngest age of
    its band, since a date of birth is never asked.
    """
    age = 0 if youngest_age is None else youngest_age
    childs = max(0, law.of_age - age) + law.injury
    return years_after(last_walk, max(law.contract, childs))


def years_after(day: date, years: int) -> date:
    """The same day `years` later; 29 February becomes 1 March where there is none, so that nothing goes a day early."""
    try:
        return day.replace(year=day.year + years)
    except ValueError:
        return date(day.year + years, 3, 1)
