"""What a person asks of a season plan, as it is kept in the plan's row."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from datetime import date
from typing import Any

from walks.compute.season_plan.facts import Span

SATURDAY, SUNDAY = 5, 6


@dataclass(frozen=True, slots=True)
class Wanted:
    """Limits and wishes. `themes`: public id → fewest and most walks; a theme that is not named has
    `least_of_a_theme` and `most_of_a_theme`.

    `start` and `minutes` in minutes; `rest`: days between two visits to a site; `in_holidays`: how many walks at least
    in the school `holidays`.
    """

    most_walks: int
    most_a_week: int = 2
    least_of_a_theme: int = 1
    most_of_a_theme: int = 6
    weekdays: frozenset[int] = frozenset({SATURDAY, SUNDAY})
    rest: int = 7
    start: int = 600
    minutes: int = 180
    themes: Mapping[str, tuple[int, int]] = field(default_factory=dict)
    holidays: tuple[Span, ...] = ()
    in_holidays: int = 0

    @property
    def stored(self) -> dict[str, Any]:
        """As JSON keeps it."""
        return asdict(self) | {
            "weekdays": sorted(self.weekdays),
            "holidays": [[one.first.isoformat(), one.last.isoformat()] for one in self.holidays],
        }


def wanted_from(stored: Mapping[str, Any]) -> Wanted:
    """What `Wanted.stored` kept."""
    return Wanted(
        **{
            **stored,
            "weekdays": frozenset(stored["weekdays"]),
            "themes": {key: (least, most) for key, (least, most) in stored["themes"].items()},
            "holidays": tuple(Span(*(date.fromisoformat(day) for day in one)) for one in stored["holidays"]),
        }
    )


def usual(first: date, last: date, walks: int | None = None) -> Wanted:
    """What is asked for where nobody says more: about one walk a week, each theme once at least if it can be."""
    return Wanted(most_walks=walks or max(1, ((last - first).days + 1) // 7))
