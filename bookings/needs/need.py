"""One thing that waits for a person, as the front page says it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.urls import reverse

from walks.models import Walk


@dataclass(frozen=True, slots=True)
class Need:
    """What to do and why, in words; where; by which day, if any; `guides`: public ids, where only theirs may act."""

    words: str
    address: str
    by: date | None = None
    guides: frozenset[str] | None = None


def named(walk: Walk) -> str:
    """The walk in a sentence: “The bare wood” on 3 October 2026."""
    return f"“{walk.offering.title}” on {day_of(walk.local_date)}"


def page_of(walk: Walk) -> str:
    """The address of the walk's staff page."""
    return reverse("staff_walk", args=[walk.offering.public_id])


def guides_of(walk: Walk) -> frozenset[str]:
    """Public ids of the walk's guides. No query where guides are prefetched."""
    return frozenset(one.guide.public_id for one in walk.walk_guides.all())


def day_of(day: date) -> str:
    """A day as sentences write it: 3 October 2026."""
    return f"{day.day} {day:%B %Y}"


def counted(number: int, one: str, more: str) -> str:
    """The number with the words that agree with it: "1 offer is", "3 offers are"."""
    return f"{number} {one if number == 1 else more}"
