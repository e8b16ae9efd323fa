"""Clocks by the names of the time-zone database (IANA tz, as `zoneinfo` finds it)."""

from datetime import timedelta, timezone, tzinfo
from zoneinfo import ZoneInfo


def known_zone(name: str) -> ZoneInfo | None:
    """The zone of that name; None where the database has none."""
    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        return None


def clock_of(name: str, offset: timedelta) -> tzinfo:
    """The clock of the zone `name`; one that stands at `offset` from UTC where the database does not know it.

    A row that another database or an older version wrote must still be shown.
    """
    return known_zone(name) or timezone(offset)
