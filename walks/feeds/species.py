"""The season calendar: when each taught species can be met or gathered, as all-day events with its signed sheet.

From the published months of signed accounts alone, this year and the next. Months that follow each other are one event;
a season over the new year is one event too. RFC 5545 section 3.6.1: the end of an all-day event is the day after.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime
from functools import lru_cache

from django.conf import settings
from django.urls import reverse
from icalendar import Event

from curriculum.compute.sheet import Sheet
from curriculum.queries import AccountInUse, accounts_in_use, sheets, species_slugs
from foraywright.floor.compute.plain_text import one_line
from foraywright.floor.models import Business
from walks.feeds.calendar import frame_of, joined

NO_PROMISE = "When it may be met, from its published months. No find is safe because of a date: read its sheet."


@dataclass(frozen=True, slots=True)
class SeasonFacts:
    """Everything that the event of one season depends on. `last`: the day after its last."""

    uid: str
    stamp: datetime
    first: date
    last: date
    title: str
    about: str
    page: str
    sheet: str


def species_calendar(business: Business, *, year: int, address: str) -> bytes:
    """The seasons of every taught species with a signed account, `year` and the year after. About four queries."""
    accounts = accounts_in_use()
    taught = [key for key, one in accounts.items() if one.sign_off and one.account.role == "taught"]
    slugs = species_slugs()
    facts = [
        one
        for in_use, sheet in sheets(taught, accounts)
        for one in _seasons(in_use, sheet, slugs[in_use.taxon.public_id], business.calendar_domain, year)
    ]
    frame = frame_of(f"What is in season, by {business.name}", address=address)
    return joined(frame, [season_text(one) for one in sorted(facts, key=lambda one: (one.first, one.uid))])


def _seasons(in_use: AccountInUse, sheet: Sheet, slug: str, domain: str, year: int) -> Iterator[SeasonFacts]:
    assert in_use.sign_off is not None
    page, paper = (f"{settings.SITE_ADDRESS}{reverse(name, args=[slug])}" for name in ("species_page", "species_sheet"))
    words = "to gather with a guide" if not sheet.word else f"{sheet.word}: look only"
    for first, last in runs(in_use.account.season.months, year):
        yield SeasonFacts(
            uid=f"{in_use.taxon.public_id}-{first:%Y%m}@{domain}",
            stamp=in_use.sign_off.signed_at,
            first=first,
            last=last,
            title=f"{sheet.common}, {words}",
            about=f"{sheet.common} ({sheet.scientific}): {sheet.edibility}.",
            page=page,
            sheet=paper,
        )


def runs(months: tuple[int, ...], year: int) -> Iterator[tuple[date, date]]:
    """First day and the day after the last of each run of months that begins in `year` or the year after.

    A species of every month has one run a year.
    """
    for begin in (year, year + 1):
        for month in sorted(set(months)):
            before = (month - 2) % 12 + 1
            if before not in months or (month == 1 and len(set(months)) == 12):
                yield date(begin, month, 1), _end(months, begin, month)


def _end(months: tuple[int, ...], year: int, month: int) -> date:
    for _ in range(12):
        year, month = (year + 1, 1) if month == 12 else (year, month + 1)
        if month not in months:
            break
    return date(year, month, 1)


@lru_cache(maxsize=2048)
def season_text(facts: SeasonFacts) -> bytes:
    """The all-day VEVENT of one season; it marks nobody as busy."""
    one = Event()
    one.add("uid", facts.uid)
    one.add("dtstamp", facts.stamp.astimezone(UTC))
    one.add("last-modified", facts.stamp.astimezone(UTC))
    one.add("sequence", 0)
    one.add("dtstart", facts.first)
    one.add("dtend", facts.last)
    one.add("summary", one_line(facts.title))
    one.add("description", f"{one_line(facts.about)}\n{NO_PROMISE}")
    one.add("categories", ["Season"])
    one.add("transp", "TRANSPARENT")
    one.add("url", facts.page)
    one.add("attach", facts.sheet, parameters={"FMTTYPE": "application/pdf"})
    return one.to_ical()
