"""VTIMEZONE (RFC 5545 section 3.6.5) from the time-zone database, for the years that a calendar touches.

A TZID without its VTIMEZONE is read as a floating time by some clients. Onsets are given in the wall time in force just
before them, as the section asks.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

from icalendar import Component, Timezone, TimezoneDaylight, TimezoneStandard

DAY = timedelta(days=1)
SECOND = timedelta(seconds=1)


@lru_cache(maxsize=64)
def vtimezone(name: str, first_year: int, last_year: int) -> Timezone:
    """The VTIMEZONE of the IANA zone `name`, right from the start of `first_year` to the end of `last_year`."""
    zone = ZoneInfo(name)
    begin, end = datetime(first_year, 1, 1, tzinfo=UTC), datetime(last_year + 1, 1, 2, tzinfo=UTC)
    whole = Timezone()
    whole.add("tzid", name)
    # The start lies a day early: in zones east of Greenwich the year begins before it does in UTC.
    whole.add_component(_observance(zone, begin - DAY, begin - DAY))
    for onset in onsets(zone, begin - DAY, end):
        whole.add_component(_observance(zone, onset - SECOND, onset))
    return whole


def onsets(zone: ZoneInfo, begin: datetime, end: datetime) -> Iterator[datetime]:
    """The instants (UTC) after `begin` and up to `end` from which another offset or name of the time holds."""
    day = begin
    while day < end:
        if _time_kept(zone, day) != _time_kept(zone, day + DAY):
            yield _first_second_after(zone, day)
        day += DAY


def _first_second_after(zone: ZoneInfo, day: datetime) -> datetime:
    """The second within the day from `day` on at which the zone's time is first another; found by halving."""
    before, after = 0, 24 * 60 * 60
    while after - before > 1:
        middle = (before + after) // 2
        if _time_kept(zone, day + middle * SECOND) == _time_kept(zone, day):
            before = middle
        else:
            after = middle
    return day + after * SECOND


def _time_kept(zone: ZoneInfo, instant: datetime) -> tuple[timedelta | None, str | None]:
    local = instant.astimezone(zone)
    return local.utcoffset(), local.tzname()


def _observance(zone: ZoneInfo, before: datetime, onset: datetime) -> Component:
    earlier, _ = _time_kept(zone, before)
    later, name = _time_kept(zone, onset)
    assert earlier is not None
    assert later is not None
    # Dublin's winter counts as negative summer time in the database, and would leave no STANDARD, which readers need.
    summer = later > earlier or (onset.astimezone(zone).dst() or timedelta(0)) > timedelta(0)
    one = TimezoneDaylight() if summer else TimezoneStandard()
    one.add("dtstart", (onset + earlier).replace(tzinfo=None))
    one.add("tzoffsetfrom", earlier)
    one.add("tzoffsetto", later)
    one.add("tzname", name)
    return one
