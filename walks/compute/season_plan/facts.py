"""What a season plan is made from, and what it is made of.

All integers. A *worth* is Σ round(1000 · p) over the wanted species of a theme: the expected number of them that one
walk meets, in thousandths. Keys are any stable texts; words are what people read.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta

from walks.compute.permission_rules import Permission

ONE_DAY = timedelta(days=1)
EVERY_WEEKDAY = frozenset(range(7))


@dataclass(frozen=True, slots=True)
class Span:
    """Days from `first` to `last`, both included."""

    first: date
    last: date

    def __contains__(self, day: date) -> bool:
        return self.first <= day <= self.last

    def days(self) -> Iterator[date]:
        """Every day, in order."""
        for number in range((self.last - self.first).days + 1):
            yield self.first + number * ONE_DAY


@dataclass(frozen=True, slots=True)
class PlanSite:
    """Where walks may be held. `rest`: a visit is at least so many days after the last. `light`: minutes from midnight
    (local) between which one may walk there by day; no entry, no light."""

    key: str
    name: str
    permissions: tuple[Permission, ...]
    rest: int = 1
    light: Mapping[date, tuple[int, int]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class PlanGuide:
    """Who can lead. `papers`: for each certificate needed, the spans in which it is in date. `leads`: keys of themes,
    None = all."""

    key: str
    name: str
    days_a_week: int
    papers: tuple[tuple[Span, ...], ...] = ()
    absences: tuple[Span, ...] = ()
    leads: frozenset[str] | None = None


@dataclass(frozen=True, slots=True)
class PlanTheme:
    """What a walk can be about: the most walks in the window (published and pinned included), its length in minutes,
    the sites it suits (None = all), and whether it is held in the dark."""

    key: str
    name: str
    most: int
    minutes: int = 180
    sites: frozenset[str] | None = None
    by_night: bool = False


@dataclass(frozen=True, slots=True)
class Wish:
    """ "At least so many walks like this": a wish, since a plan that breaks it is still a plan. Rank 1 weighs most.

    Of themes, sites and days, None means any. `guides` cannot be joined with the others (ValueError).
    """

    key: str
    rank: int
    words: str
    least: int
    themes: frozenset[str] | None = None
    sites: frozenset[str] | None = None
    days: tuple[Span, ...] | None = None
    guides: frozenset[str] | None = None

    def __post_init__(self) -> None:
        if self.guides is not None and (self.themes, self.sites, self.days) != (None, None, None):
            raise ValueError(f"The wish {self.key} names guides and something else.")

    def counts(self, theme: str, site: str, day: date, guides: Iterable[str]) -> bool:
        """Whether a walk counts towards the wish."""
        if self.guides is not None:
            return bool(self.guides & set(guides))
        return (
            (self.themes is None or theme in self.themes)
            and (self.sites is None or site in self.sites)
            and (self.days is None or any(day in span for span in self.days))
        )


@dataclass(frozen=True, slots=True)
class Fixed:
    """A walk that stays where it is: published, drafted or pinned. It uses up what the rules count.

    Those outside the window count for a site's year and rest and a guide's week, not for what the plan is asked for.
    """

    theme: str
    site: str
    day: date
    guides: tuple[str, ...]
    worth: int = 0


@dataclass(frozen=True, slots=True, order=True)
class Proposal:
    """A walk that a plan proposes."""

    day: date
    site: str
    theme: str
    guide: str


@dataclass(frozen=True, slots=True)
class Season:
    """Everything that a plan follows from.

    `worth`: by (theme, site, day); absent = 0. `insured`: spans with cover in force. `start`: minutes from midnight at
    which walks begin where the light allows. `site_target`: walks at one site beyond which they count as crowded.
    `earlier`: the proposals of the plan before this one, which move as little as possible. `refused`: (theme, site,
    day) that somebody dropped and does not want to see again.
    """

    window: Span
    sites: tuple[PlanSite, ...]
    guides: tuple[PlanGuide, ...]
    themes: tuple[PlanTheme, ...]
    worth: Mapping[tuple[str, str, date], int]
    insured: tuple[Span, ...]
    most_walks: int
    most_a_week: int
    site_target: int
    weekdays: frozenset[int] = EVERY_WEEKDAY
    least_worth: int = 500
    start: int = 600
    wishes: tuple[Wish, ...] = ()
    fixed: tuple[Fixed, ...] = ()
    earlier: tuple[Proposal, ...] = ()
    refused: frozenset[tuple[str, str, date]] = frozenset()

    @property
    def held(self) -> tuple[Fixed, ...]:
        """The fixed walks within the window."""
        return tuple(one for one in self.fixed if one.day in self.window)


def week_of(day: date) -> tuple[int, int]:
    """The ISO year and week."""
    year, week, _ = day.isocalendar()
    return year, week


def start_on(theme: PlanTheme, site: PlanSite, day: date, wanted: int) -> int | None:
    """When the walk begins, in minutes from midnight: at `wanted`, or as much earlier as the light asks; None where the
    day is too short. A night walk begins as soon as the light is gone."""
    light = site.light.get(day)
    if theme.by_night:
        return light[1] if light and light[1] + theme.minutes < 24 * 60 else None
    if light is None or light[1] - light[0] < theme.minutes:
        return None
    return max(light[0], min(wanted, light[1] - theme.minutes))
