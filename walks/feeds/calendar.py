"""A VCALENDAR (RFC 5545 section 3.4) with name and refresh interval (RFC 7986): same rows, same bytes."""

from __future__ import annotations

import logging
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import timedelta

from icalendar import Calendar, Timezone, vDuration, vText

from foraywright.floor.compute.plain_text import one_line
from foraywright.floor.models import Business
from walks.feeds.entries import EntryOf
from walks.feeds.event import event
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
    walks: Iterable[Walk], entry_of: EntryOf, business: Business, *, address: str = "", method: str = ""
) -> Rendered:
    """Render `walks`. `address`: where the calendar can be fetched again; `method`: "PUBLISH" for one that is sent.

    A walk that cannot be said is left out and logged: one bad row must not empty everybody's calendar.
    """
    walks, said, left_out = list(walks), [], []
    events: list[bytes] = []
    for walk in walks:
        try:
            events.append(_event(walk, entry_of, business if method else None))
            said.append(walk)
        except Exception as fault:  # whatever is wrong with one row
            logger.error("Walk %s was left out of a calendar: %s", walk.public_id, type(fault).__name__)
            left_out.append(walk.public_id)
    frame = _frame(said, business, address=address, method=method).to_ical()
    return Rendered(frame.removesuffix(END) + b"".join(events) + END, tuple(left_out))


def _event(walk: Walk, entry_of: EntryOf, organiser: Business | None) -> bytes:
    one = event(entry_of(walk))
    if organiser is not None:
        # RFC 5546 section 3.2.1 asks for one in every event that is published by METHOD.
        one.add("organizer", f"mailto:{organiser.email}", parameters={"CN": one_line(organiser.name).replace('"', "'")})
    return one.to_ical()


def _frame(walks: list[Walk], business: Business, *, address: str, method: str) -> Calendar:
    frame = Calendar()
    frame.add("prodid", PRODID)
    frame.add("version", "2.0")
    frame.add("calscale", "GREGORIAN")
    if method:
        frame.add("method", method)
    if address:
        _name(frame, business, address)
    for zone in _zones(walks):
        frame.add_component(zone)
    return frame


def _name(frame: Calendar, business: Business, address: str) -> None:
    """RFC 7986 sections 5.1, 5.7 and 5.8, and the older words for name and interval that readers still look for."""
    name = vText(one_line(f"Walks of {business.name}"))
    frame.add("name", name)
    frame.add("x-wr-calname", name)
    frame.add("source", address, parameters={"VALUE": "URI"})
    frame.add("refresh-interval", REFRESH, parameters={"VALUE": "DURATION"})
    frame.add("x-published-ttl", vDuration(REFRESH))


def _zones(walks: list[Walk]) -> Iterator[Timezone]:
    """A VTIMEZONE for each zone, over the years of its own walks: it follows from the rows, not from the day."""
    for zone in sorted({walk.zone for walk in walks}):
        years = [walk.local_date.year for walk in walks if walk.zone == zone]
        yield vtimezone(zone, min(years), max(years) + 1)
