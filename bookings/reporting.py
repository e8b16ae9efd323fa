"""What the law may require to be reported of an incident, read from policies/reporting.toml."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from bookings.law_files import law_in


@dataclass(frozen=True, slots=True)
class Duty:
    """One kind of event that may have to be reported: how, and the last day for it; None where the day of the event
    sets none."""

    what: str
    how: str
    by: date | None


@dataclass(frozen=True, slots=True)
class Law:
    """The duties of one jurisdiction, whom to ask, and where that is written."""

    name: str
    authority: str
    source: str
    duties: tuple[Duty, ...]


def law_of(jurisdiction: str, day: date) -> Law | None:
    """The law on reporting what happened on `day`; None where we hold none, so that the authority must be asked."""
    found = law_in("reporting.toml", jurisdiction)
    if found is None:
        return None
    name, law = found
    duties = (Duty(one["what"], one["how"], _last_day(one, day)) for one in law["duties"])
    return Law(name, law["authority"], law["source"], tuple(duties))


def _last_day(duty: Mapping[str, Any], day: date) -> date | None:
    return day + timedelta(days=duty["days"]) if "days" in duty else None
