"""One walk as a VEVENT: a function for each property, with the section of RFC 5545 that defines it.

Text that people typed passes `plain_text` first: the library escapes commas and line feeds, but lets NUL, vertical tabs
and U+2028 through, and some readers end a line at each of them.
"""

from __future__ import annotations

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from icalendar import Event
from icalendar.prop import vGeo

from foraywright.floor.compute.plain_text import one_line
from walks.feeds.entries import Entry

ROOM_IN_WORDS = {"open": "Places are open.", "few": "Few places are left.", "full": "The walk is full."}


class SixPlaces(vGeo):
    """GEO with six decimal places: the library writes 0.00005 degrees as 5e-05, which is no FLOAT of section 3.3.7."""

    def to_ical(self) -> str:
        return f"{self.latitude:.6f};{self.longitude:.6f}"


def event(entry: Entry) -> Event:
    """The VEVENT (section 3.6.1) of `entry`. Raises an error where the row cannot be said in a calendar."""
    one = Event()
    start, end = start_and_end(entry)
    one.add("uid", uid(entry))
    one.add("dtstamp", dtstamp(entry))
    one.add("last-modified", last_modified(entry))
    one.add("sequence", sequence(entry))
    one.add("dtstart", start)
    one.add("dtend", end)
    one.add("summary", summary(entry))
    one.add("description", description(entry))
    one.add("location", location(entry))
    one.add("geo", geo(entry))
    one.add("categories", categories(entry))
    one.add("status", status(entry))
    one.add("url", url(entry))
    one.add("attach", attach(entry), parameters={"FMTTYPE": "application/pdf"})
    return one


def uid(entry: Entry) -> str:
    """3.8.4.7: stored when the walk is scheduled, the same for ever and in every feed."""
    return entry.walk.calendar_uid


def dtstamp(entry: Entry) -> datetime:
    """3.8.7.2: a stored instant. The present moment would make every fetch look like a change."""
    return entry.walk.calendar_stamp.astimezone(UTC)


def last_modified(entry: Entry) -> datetime:
    """3.8.7.3: when anything that a reader sees last changed."""
    return entry.walk.calendar_modified.astimezone(UTC)


def sequence(entry: Entry) -> int:
    """3.8.7.4: rises with time, place, status or title."""
    return entry.walk.calendar_sequence + entry.raised


def start_and_end(entry: Entry) -> tuple[datetime, datetime]:
    """3.8.2.4 and 3.8.2.2: local times with their zone.

    A wall time that comes twice means its first showing (3.3.5), but readers disagree: such a walk is given in UTC.
    """
    walk = entry.walk
    zone = ZoneInfo(walk.zone)
    start, end = walk.starts_at.astimezone(zone), walk.ends_at.astimezone(zone)
    if _comes_twice(start) or _comes_twice(end):
        return start.astimezone(UTC), end.astimezone(UTC)
    return start, end


def _comes_twice(wall: datetime) -> bool:
    return wall.replace(fold=0).utcoffset() != wall.replace(fold=1).utcoffset()


def summary(entry: Entry) -> str:
    """3.8.1.12: the title; that the walk is off stands before it in words, since not every reader shows STATUS."""
    title = one_line(entry.walk.offering.title)
    if entry.sessions > 1:
        title = f"{title} ({entry.walk.number} of {entry.sessions})"
    return f"{entry.ended}: {title}" if entry.ended else title


def description(entry: Entry) -> str:
    """3.8.1.5: why it is off, or what it is about, the going and how full it is. Names nobody."""
    walk = entry.walk
    off = ": ".join(part for part in (entry.ended, walk.offering.called_off_why) if part)
    going = f"Going: {walk.site.going}" if walk.site.going else ""
    about = walk.offering.lead or walk.offering.theme.lead
    lines = (off, about, going, ROOM_IN_WORDS.get(entry.room, ""))
    return "\n".join(one_line(line) for line in lines if line)


def location(entry: Entry) -> str:
    """3.8.1.7: the meeting point with its map reference as typed."""
    site = entry.walk.site
    return one_line(f"{site.meeting_point}, {site.name}, {site.reference_as_typed}")


def geo(entry: Entry) -> SixPlaces:
    """3.8.1.6: the public meeting point, WGS84; the ground that is walked is told to nobody."""
    site = entry.walk.site
    return SixPlaces((float(site.latitude), float(site.longitude)))


def categories(entry: Entry) -> list[str]:
    """3.8.1.2: the theme."""
    return [one_line(entry.walk.offering.theme.name)]


def status(entry: Entry) -> str:
    """3.8.1.11: a walk that is off stays in the calendar as CANCELLED."""
    return "CANCELLED" if entry.ended else "CONFIRMED"


def url(entry: Entry) -> str:
    """3.8.4.6: the public page of the walk; never a link that is a permission."""
    return entry.page


def attach(entry: Entry) -> str:
    """3.8.1.1: the address that serves the handout in the version in use, or says that it was withdrawn."""
    return entry.handout
