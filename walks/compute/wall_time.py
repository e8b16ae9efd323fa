"""From the time on the wall to the instant: local start, zone and duration in, UTC out.

A walk is announced in wall time, so that is what is stored; the UTC instants follow from it and from the time-zone
database (IANA tz, as `zoneinfo` finds it) and are worked out again when that changes. The two readings of an unclear
time are those of PEP 495. No time here is ever floating: a wall time without a zone is no instant.
"""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from foraywright.floor.compute.clock_words import day_words
from foraywright.floor.compute.zones import known_zone


class WallTimeRefused(ValueError):
    """The wall time names no single instant; the sentence says why and what to write instead."""


class UnknownZone(WallTimeRefused):
    """No zone of this name in the time-zone database."""


class WallTimeMissing(WallTimeRefused):
    """The clocks jump over this time. `offered` = the two wall times that it can be moved to, earlier first."""

    def __init__(self, wall: datetime, zone: str, offered: tuple[datetime, datetime]) -> None:
        self.offered = offered
        earlier, later = (_spoken(time, wall) for time in offered)
        super().__init__(
            f"{wall:%H:%M} on {day_words(wall)} does not exist in {zone}: the clocks go forward over it. "
            f"Choose {earlier} or {later} instead."
        )


class WallTimeRepeated(WallTimeRefused):
    """The clocks show this time twice. `offsets` = the offsets from UTC of the first and the second time."""

    def __init__(self, wall: datetime, zone: str, offsets: tuple[timedelta, timedelta]) -> None:
        self.offsets = offsets
        first, second = (_offset(offset) for offset in offsets)
        super().__init__(
            f"{wall:%H:%M} on {day_words(wall)} comes twice in {zone}, because the clocks go back: first at {first}, "
            f"then again at {second}. Say which of the two is meant, or choose a time that comes once."
        )


@dataclass(frozen=True, slots=True)
class UtcSpan:
    """Start and end as instants in UTC; `fold` is 1 only for the second showing of a repeated time."""

    start: datetime
    end: datetime
    fold: int


def utc_span(wall_start: datetime, zone: str, duration: timedelta, fold: int | None = None) -> UtcSpan:
    """The instants of a walk that starts at `wall_start` (naive) in the IANA `zone` and lasts `duration`.

    `duration` is time that passes: a walk of three hours over the change of clocks ends three hours later, whatever the
    wall then says. `fold` (0 first, 1 second) decides a repeated time and means nothing for any other.
    UnknownZone, WallTimeMissing and WallTimeRepeated are refusals to people; a ValueError is a fault of the caller.
    """
    if wall_start.tzinfo is not None:
        raise ValueError("A wall time is naive: give the zone apart.")
    if duration <= timedelta(0):
        raise ValueError("A walk lasts longer than no time.")
    place = _zone(zone)
    readings = tuple(wall_start.replace(tzinfo=place, fold=which) for which in (0, 1))
    chosen = _chosen_fold(wall_start, zone, readings[0], readings[1], fold)
    start = readings[chosen].astimezone(UTC)
    return UtcSpan(start, start + duration, chosen)


def _chosen_fold(wall: datetime, zone: str, first: datetime, second: datetime, fold: int | None) -> int:
    offsets = _offset_of(first), _offset_of(second)
    if offsets[0] == offsets[1]:
        return 0
    if offsets[0] < offsets[1]:
        raise WallTimeMissing(wall, zone, (_as_shown(second), _as_shown(first)))
    if fold not in (0, 1):
        raise WallTimeRepeated(wall, zone, offsets)
    return fold


def _as_shown(reading: datetime) -> datetime:
    """The wall time that clocks really show at the instant of a reading inside the gap."""
    return reading.astimezone(UTC).astimezone(reading.tzinfo).replace(tzinfo=None, fold=0)


def _zone(name: str) -> ZoneInfo:
    zone = known_zone(name)
    if zone is None:
        raise UnknownZone(f"There is no time zone called “{name}”. Write it as Europe/London or Europe/Dublin.")
    return zone


def _offset_of(reading: datetime) -> timedelta:
    offset = reading.utcoffset()
    assert offset is not None
    return offset


def _offset(offset: timedelta) -> str:
    sign = "−" if offset < timedelta(0) else "+"
    hours, minutes = divmod(abs(offset) // timedelta(minutes=1), 60)
    return f"UTC{sign}{hours:02}:{minutes:02}"


def _spoken(time: datetime, asked: datetime) -> str:
    return f"{time:%H:%M}" if time.date() == asked.date() else f"{time:%H:%M} on {day_words(time)}"
