"""One walk as a VEVENT: a function for each property, with the section of RFC 5545 that defines it.

Text that people typed passes `plain_text` first: the library escapes commas and line feeds, but lets NUL, vertical tabs
and U+2028 through, and some readers end a line at each of them.

An event is made from plain facts alone, so its text is kept by what it depends on: after one change one is made anew.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from functools import lru_cache
from zoneinfo import ZoneInfo

from icalendar import Event
from icalendar.prop import vGeo

from foraywright.floor.compute.plain_text import one_line

ROOM_IN_WORDS = {"open": "Places are open.", "few": "Few places are left.", "full": "The walk is full."}


class SixPlaces(vGeo):
    """GEO with six decimal places: the library writes 0.00005 degrees as 5e-05, which is no FLOAT of section 3.3.7."""

    def to_ical(self) -> str:
        return f"{self.latitude:.6f};{self.longitude:.6f}"


KEPT_EVENTS = 20_000


@dataclass(frozen=True, slots=True)
class EventFacts:
    """Everything that the text of an event depends on. `related`: UID of the first session, empty for itself.

    `organiser`: name and address, both empty where nobody sends the calendar. `latitude` and `longitude` in degrees.
    """

    uid: str
    stamp: datetime
    modified: datetime
    sequence: int
    starts_at: datetime
    ends_at: datetime
    zone: str
    title: str
    number: int
    sessions: int
    ended: str
    why: str
    about: str
    going: str
    room: str
    meeting_point: str
    site: str
    reference: str
    latitude: float
    longitude: float
    theme: str
    page: str
    handout: str
    related: str = ""
    organiser: tuple[str, str] = ("", "")


@lru_cache(maxsize=KEPT_EVENTS)
def event_text(facts: EventFacts) -> bytes:
    """The VEVENT as it stands in a calendar. Raises an error where the row cannot be said in one."""
    return event(facts).to_ical()


def event(facts: EventFacts) -> Event:
    """The VEVENT (section 3.6.1) of `facts`. Raises an error where the row cannot be said in a calendar."""
    one = Event()
    start, end = start_and_end(facts)
    one.add("uid", uid(facts))
    one.add("dtstamp", dtstamp(facts))
    one.add("last-modified", last_modified(facts))
    one.add("sequence", sequence(facts))
    one.add("dtstart", start)
    one.add("dtend", end)
    one.add("summary", summary(facts))
    one.add("description", description(facts))
    one.add("location", location(facts))
    one.add("geo", geo(facts))
    one.add("categories", categories(facts))
    one.add("status", status(facts))
    one.add("url", url(facts))
    if facts.handout:
        one.add("attach", attach(facts), parameters={"FMTTYPE": "application/pdf"})
    if facts.related:
        one.add("related-to", facts.related, parameters={"RELTYPE": "SIBLING"})
    if any(facts.organiser):
        one.add("organizer", f"mailto:{facts.organiser[1]}", parameters={"CN": organiser_name(facts)})
    return one


def organiser_name(facts: EventFacts) -> str:
    """3.8.4.3: RFC 5546 section 3.2.1 asks for an organiser in every event that is published by METHOD."""
    return one_line(facts.organiser[0]).replace('"', "'")


def uid(facts: EventFacts) -> str:
    """3.8.4.7: stored when the walk is scheduled, the same for ever and in every feed."""
    return facts.uid


def dtstamp(facts: EventFacts) -> datetime:
    """3.8.7.2: a stored instant. The present moment would make every fetch look like a change."""
    return facts.stamp.astimezone(UTC)


def last_modified(facts: EventFacts) -> datetime:
    """3.8.7.3: when anything that a reader sees last changed."""
    return facts.modified.astimezone(UTC)


def sequence(facts: EventFacts) -> int:
    """3.8.7.4: rises with time, place, status or title."""
    return facts.sequence


def start_and_end(facts: EventFacts) -> tuple[datetime, datetime]:
    """3.8.2.4 and 3.8.2.2: local times with their zone.

    A wall time that comes twice means its first showing (3.3.5), but readers disagree: such a walk is given in UTC.
    """
    zone = ZoneInfo(facts.zone)
    start, end = facts.starts_at.astimezone(zone), facts.ends_at.astimezone(zone)
    if _comes_twice(start) or _comes_twice(end):
        return start.astimezone(UTC), end.astimezone(UTC)
    return start, end


def _comes_twice(wall: datetime) -> bool:
    return wall.replace(fold=0).utcoffset() != wall.replace(fold=1).utcoffset()


def summary(facts: EventFacts) -> str:
    """3.8.1.12: the title; that the walk is off stands before it in words, since not every reader shows STATUS."""
    title = one_line(facts.title)
    if facts.sessions > 1:
        title = f"{title} ({facts.number} of {facts.sessions})"
    return f"{facts.ended}: {title}" if facts.ended else title


def description(facts: EventFacts) -> str:
    """3.8.1.5: why it is off, or what it is about, the going and how full it is. Names nobody."""
    off = ": ".join(part for part in (facts.ended, facts.why) if part)
    going = f"Going: {facts.going}" if facts.going else ""
    lines = (off, facts.about, going, ROOM_IN_WORDS.get(facts.room, ""))
    return "\n".join(one_line(line) for line in lines if line)


def location(facts: EventFacts) -> str:
    """3.8.1.7: the meeting point with its map reference as typed."""
    return one_line(f"{facts.meeting_point}, {facts.site}, {facts.reference}")


def geo(facts: EventFacts) -> SixPlaces:
    """3.8.1.6: the public meeting point, WGS84; the ground that is walked is told to nobody."""
    return SixPlaces((facts.latitude, facts.longitude))


def categories(facts: EventFacts) -> list[str]:
    """3.8.1.2: the theme."""
    return [one_line(facts.theme)]


def status(facts: EventFacts) -> str:
    """3.8.1.11: a walk that is off stays in the calendar as CANCELLED."""
    return "CANCELLED" if facts.ended else "CONFIRMED"


def url(facts: EventFacts) -> str:
    """3.8.4.6: the public page of the walk; never a link that is a permission."""
    return facts.page


def attach(facts: EventFacts) -> str:
    """3.8.1.1: the address that serves the handout in the version in use, or says that it was withdrawn."""
    return facts.handout
