"""What stands against a walk under a landowner's permission: its dates, closed seasons, group size and days a year.

Our rules (common practice, no source): the written permission itself decides. Passing them says that nothing recorded
stands against the walk, never that the landowner agrees to what the record does not hold.
"""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from walks.compute.closed_seasons import ClosedSeason


@dataclass(frozen=True, slots=True)
class Permission:
    """What is recorded of a permission. `most_people` counts everybody, guides too; `days_a_year` None = no limit."""

    first_day: date
    last_day: date
    most_people: int
    days_a_year: int | None = None
    closed: tuple[ClosedSeason, ...] = ()

    def in_force(self, day: date) -> bool:
        """Whether `day` lies within its dates."""
        return self.first_day <= day <= self.last_day

    def closed_on(self, day: date) -> ClosedSeason | None:
        """The closed season in which `day` lies."""
        return next((one for one in self.closed if one.holds(day)), None)

    def open_on(self, day: date) -> bool:
        """Whether walks may be held on `day`."""
        return self.in_force(day) and self.closed_on(day) is None


@dataclass(frozen=True, slots=True)
class Visit:
    """A walk as the landowner sees it, in local days. `fewest` = everybody who comes if it runs with as few as it may.

    `days_taken`: days of the year of `first_day` that are taken at the site, that day included.
    """

    site: str
    first_day: date
    last_day: date
    fewest: int
    days_taken: Collection[date] = ()


def against_visit(permissions: Sequence[Permission], visit: Visit) -> Iterator[str]:
    """Every reason against `visit`, a sentence each; none where a permission covers it.

    Judged by the permission that is open on the walk's first day, the one for most people where several are.
    """
    chosen = best_of(permissions, visit.first_day)
    if chosen is None:
        yield from _none_open(permissions, visit)
        return
    yield from _past_midnight(chosen, visit)
    yield from _too_many_people(chosen, visit)
    yield from _too_many_days(chosen, visit)


def best_of(permissions: Sequence[Permission], day: date) -> Permission | None:
    """The permission for most people among those open on `day`; the first of them where several are alike."""
    return max((one for one in permissions if one.open_on(day)), key=lambda one: one.most_people, default=None)


def _none_open(permissions: Sequence[Permission], visit: Visit) -> Iterator[str]:
    seasons = [season for one in permissions if one.in_force(visit.first_day) for season in one.closed]
    shut = next((one for one in seasons if one.holds(visit.first_day)), None)
    if shut is None:
        yield f"No landowner's permission for {visit.site} covers {visit.first_day}."
    else:
        yield _shut_words(shut, visit, visit.first_day)


def _past_midnight(permission: Permission, visit: Visit) -> Iterator[str]:
    if not permission.in_force(visit.last_day):
        yield f"The landowner's permission for {visit.site} ends on {permission.last_day}, before the walk does."
    shut = permission.closed_on(visit.last_day)
    if shut is not None:
        yield _shut_words(shut, visit, visit.last_day)


def _shut_words(shut: ClosedSeason, visit: Visit, day: date) -> str:
    return f"The landowner's permission for {visit.site} is closed from {shut.words}, and so on {day}."


def _too_many_people(permission: Permission, visit: Visit) -> Iterator[str]:
    if visit.fewest > permission.most_people:
        yield (
            f"The landowner's permission for {visit.site} allows {permission.most_people} people at once; "
            f"the fewest that the walk runs with, and our own people, are {visit.fewest}."
        )


def _too_many_days(permission: Permission, visit: Visit) -> Iterator[str]:
    taken = len({*visit.days_taken, visit.first_day})
    if permission.days_a_year is not None and taken > permission.days_a_year:
        yield (
            f"The landowner's permission for {visit.site} allows {permission.days_a_year} days a year; "
            f"with this it would be {taken} in {visit.first_day.year}."
        )
