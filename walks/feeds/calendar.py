"""A VCALENDAR (RFC 5545 section 3.4) with name and refresh interval (RFC 7986): same rows, same bytes."""

from __future__ import annotations

import logging
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta

from icalendar import Calendar, Timezone, vDuration, vText

from foraywright.floor.compute.plain_text import one_line
from foraywright.floor.models import Business
from walks.feeds.entries import EntryOf, facts_of
from walks.feeds.event import event_text
from walks.feeds.zones import vtimezone
from walks.models import Walk

logger = logging.getLogger(__name__)

PRODID = "-//Foraywright//Walks//EN"
REFRESH = timedelta(hours=4)
END = b"END:VCALENDAR\r\n"


@dataclass(frozen=True, slots=True)
class Rendered:
    """A calendar's bytes, and the public ids of the walks that could not be said in it."""

    content: bytes
    left_out: tuple[str, ...]


def calendar(
    walks: Iterable[Walk], entry_of: EntryOf, business: Business, *, name: str = "", address: str = "", method: str = ""
) -> Rendered:
    """Render `walks`. `address`: where the calendar can be fetched again; `method`: "PUBLISH" for one that is sent;
    `name`: what the calendar is called where it can be fetched again, else "Walks of" the business.

    A walk that cannot be said is left out and logged: one bad row must not empty everybody's calendar.
    """
    organiser = (business.name, business.email) if method else ("", "")
    said, left_out = _events(walks, entry_of, organiser)
    for walk, fault in left_out:
        logger.error("Walk %s was left out of a calendar: %s", walk.public_id, fault)
    frame = frame_of(name or f"Walks of {business.name}", address=address, method=method)
    for zone in _zones([walk for walk, _ in said]):
        frame.add_component(zone)
    events = [event for _, event in said]
    return Rendered(joined(frame, events), tuple(walk.public_id for walk, _ in left_out))


def unsayable(walks: Iterable[Walk], entry_of: EntryOf) -> list[Walk]:
    """Those of `walks` that a calendar leaves out. Nothing is logged: whoever asks says it to somebody."""
    return [walk for walk, _ in _events(walks, entry_of, ("", ""))[1]]


def _events(
    walks: Iterable[Walk], entry_of: EntryOf, organiser: tuple[str, str]
) -> tuple[list[tuple[Walk, bytes]], list[tuple[Walk, str]]]:
    """Each walk with its event, and each that cannot be said with the kind of fault."""
    said: list[tuple[Walk, bytes]] = []
    left_out: list[tuple[Walk, str]] = []
    for walk in walks:
        try:
            said.append((walk, event_text(facts_of(entry_of(walk), organiser))))
        except Exception as fault:  # whatever is wrong with one row
            left_out.append((walk, type(fault).__name__))
    return said, left_out


def joined(frame: Calendar, events: Iterable[bytes]) -> bytes:
    """The calendar with the events in it."""
    return frame.to_ical().removesuffix(END) + b"".join(events) + END


def frame_of(name: str, *, address: str, method: str = "") -> Calendar:
    """A calendar without events. Its name is told only where it can be fetched again."""
    frame = Calendar()
    frame.add("prodid", PRODID)
    frame.add("version", "2.0")
    frame.add("calscale", "GREGORIAN")
    if method:
        frame.add("method", method)
    if address:
        _name(frame, name, address)
    return frame


def _name(frame: Calendar, name: str, address: str) -> None:
    """RFC 7986 sections 5.1, 5.7 and 5.8, and the older words for name and interval that readers still look for."""
    said = vText(one_line(name))
    frame.add("name", said)
    frame.add("x-wr-calname", said)
    frame.add("source", address, parameters={"VALUE": "URI"})
    frame.add("refresh-interval", REFRESH, parameters={"VALUE": "DURATION"})
    frame.add("x-published-ttl", vDuration(REFRESH))


def _zones(walks: Sequence[Walk]) -> Iterator[Timezone]:
    """A VTIMEZONE for each zone, over the years of its own walks: it follows from the rows, not from the day."""
    for zone in sorted({walk.zone for walk in walks}):
        years = [walk.local_date.year for walk in walks if walk.zone == zone]
        yield vtimezone(zone, min(years), max(years) + 1)
