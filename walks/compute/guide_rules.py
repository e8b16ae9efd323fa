"""What stands against sending a guide out: absence, certificates, days a week, what they may lead.

Our rules (common practice, no source): no published standard orders a guide's week. Passing them says that nothing
recorded stands against the outing, never that somebody is competent.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

Rule = Literal["absent", "certificate", "days_a_week", "may_lead"]


@dataclass(frozen=True, slots=True)
class Paper:
    """A certificate: what kind it is, in words that begin a sentence, and its first and last day in force."""

    kind: str
    label: str
    first_day: date
    last_day: date


@dataclass(frozen=True, slots=True)
class GuideRecord:
    """What is recorded of a guide. `absences`: first and last days, both included; `may_lead`: words of MayLead."""

    name: str
    days_a_week: int
    may_lead: frozenset[str]
    papers: tuple[Paper, ...]
    absences: tuple[tuple[date, date], ...]


@dataclass(frozen=True, slots=True)
class Outing:
    """One walk as it asks for a guide, in local days. `asks`: what whoever leads must be recorded for, key to words."""

    first_day: date
    last_day: date
    leads: bool
    asks: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Objection:
    """A rule that is broken, and its sentence with what to do."""

    rule: Rule
    sentence: str


def objections(guide: GuideRecord, outing: Outing, other_days: Sequence[date]) -> Iterator[Objection]:
    """Every rule against sending `guide` on `outing`. `other_days`: days of the guide's other outings, repeats allowed.

    A walk over midnight counts on the day on which it starts; for absences on both.
    """
    yield from _absent(guide, outing)
    yield from _expired(guide, outing.first_day)
    yield from _too_many_days(guide, outing.first_day, other_days)
    yield from _may_not_lead(guide, outing)


def _absent(guide: GuideRecord, outing: Outing) -> Iterator[Objection]:
    for first, last in guide.absences:
        if first <= outing.last_day and outing.first_day <= last:
            away = f"on {_day(first)}" if first == last else f"from {_day(first)} to {_day(last)}"
            yield Objection("absent", f"{guide.name} is away {away}. Choose another guide or another day.")


def _expired(guide: GuideRecord, day: date) -> Iterator[Objection]:
    """A kind of certificate that the guide holds must be in force on the day: who has one goes out on a valid one."""
    for kind in dict.fromkeys(one.kind for one in guide.papers):
        papers = [one for one in guide.papers if one.kind == kind]
        if not any(one.first_day <= day <= one.last_day for one in papers):
            yield Objection("certificate", f"{_lapse(guide, papers, day)} Renew it or choose another guide.")


def _lapse(guide: GuideRecord, papers: Sequence[Paper], day: date) -> str:
    before = [one for one in papers if one.last_day < day]
    label = f"{papers[0].label} of {guide.name}"
    if before:
        return f"{label} ended on {_day(max(one.last_day for one in before))}, before {_day(day)}."
    return f"{label} begins on {_day(min(one.first_day for one in papers))}, after {_day(day)}."


def _too_many_days(guide: GuideRecord, day: date, other_days: Sequence[date]) -> Iterator[Objection]:
    """Days out in the ISO week (ISO 8601: Monday to Sunday); two outings on one day are one."""
    in_week = {one for one in other_days if one.isocalendar()[:2] == day.isocalendar()[:2]} | {day}
    if len(in_week) > guide.days_a_week:
        days = "1 day" if guide.days_a_week == 1 else f"{guide.days_a_week} days"
        yield Objection(
            "days_a_week",
            f"{guide.name} goes out on at most {days} a week; with {_day(day)} it would be {len(in_week)} "
            "from Monday to Sunday. Choose another guide or another week.",
        )


def _may_not_lead(guide: GuideRecord, outing: Outing) -> Iterator[Objection]:
    if not outing.leads:
        return
    for key, words in outing.asks:
        if key not in guide.may_lead:
            yield Objection("may_lead", f"{guide.name} is not recorded as leading {words}. Choose another to lead.")


def _day(day: date) -> str:
    return f"{day.day} {day:%B %Y}"
