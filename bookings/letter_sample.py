"""An invented booking, for looking at the words of a letter before anybody gets it. Nothing of it is stored."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

from django.conf import settings

from bookings.compute.changes_told import Told
from bookings.compute.dues import Dues
from bookings.compute.joining import Outing, weather_note, what_to_bring
from bookings.compute.references import creditor_reference, in_groups
from bookings.group_quotes import QUOTE_LINKS
from bookings.letter_facts import LINKS, Charge, Date
from bookings.models import Booking
from bookings.statutory import statutory_notes
from foraywright.floor.compute.clock_words import day_words
from foraywright.floor.models import Business
from walks.models import Offering, Site, Walk

CODE = "SAMPLE2"


def sample_context(business: Business, *, now: datetime) -> dict[str, Any]:
    """Everything that any kind of letter may say, of a walk in a fortnight. No query."""
    start = (now + timedelta(days=14)).astimezone(business.clock).replace(hour=10, minute=0, second=0, microsecond=0)
    offering = Offering(title="A walk to look at letters with", called_off_why="storm damage in the wood")
    site = _site(business)
    date = Date(Walk(offering=offering, site=site), site, start, start + timedelta(hours=3))
    return {
        "business": business,
        "booking": Booking(code=CODE, state=Booking.State.CONFIRMED, pay_by=start.date() - timedelta(days=7)),
        "offering": offering,
        "dates": [date],
        "site": site,
        "people": ["Alder Example (adult)", "Hazel Example (child of 4 to 8)"],
        **_money(business, start.date() - timedelta(days=7)),
        **dict.fromkeys(LINKS, f"{settings.SITE_ADDRESS}/booking/…/"),
        **dict.fromkeys(QUOTE_LINKS, f"{settings.SITE_ADDRESS}/quote/…/"),
        **_matters(start, now),
    }


def _site(business: Business) -> Site:
    return Site(
        name="Sample Wood",
        zone=business.zone,
        meeting_point="the east gate, by the notice board",
        reference_as_typed="(the map reference)",
        latitude=Decimal("0.000000"),
        longitude=Decimal("0.000000"),
        parking="a lay-by for six cars",
        going="3 km, 40 m of climbing, muddy",
        mobile_coverage=Site.Coverage.PATCHY,
    )


def _money(business: Business, due_by: date) -> dict[str, Any]:
    return {
        "charges": [Charge("adult", 1, 1800), Charge("child of 4 to 8", 1, 900)],
        "currency": business.currency,
        "kept": 0,
        "total": 2700,
        "paid": 1000,
        "owed": 1700,
        "dues": Dues(700, due_by, 1000, due_by + timedelta(days=3)),
        "coming_back": 1000,
        "beyond": 0,
        "asks_arrival": False,
        "back": 1000,
        "amount": 1000,
        "sold": True,
        "reference": in_groups(creditor_reference(CODE)),
        "refund_terms": "100 % back 14 days or more before; after that nothing.",
        "rights": [note.says for note in statutory_notes(business.jurisdiction).notes],
    }


def _matters(start: datetime, now: datetime) -> Mapping[str, Any]:
    until = start - timedelta(days=12)
    outing = Outing(start.month, 180, in_the_dark=False, on_the_shore=False, has_children=True)
    return {
        "reason": "Storm damage in the wood.",
        "choose_by": until,
        "given_back": "Your places are free for others.",
        "held_until": f"{day_words(until)}, 6 pm",
        "on_the_list": "You are on the waiting list, at the place that you had.",
        "sheet_name": "Sample Species",
        "version_number": 2,
        "missing": "2 people",
        "due_by": day_words(start.date() - timedelta(days=7)),
        "limit": "With a child on the walk, staff and guardians in charge together must be 2 adults; 1 is coming.",
        "lifts": True,
        "bring": list(what_to_bring(outing)),
        "weather": weather_note(None, now=now),
        "changes": [Told(1, "start", "Start", "9.30 am", "10 am")],
        "free_exit": True,
        "begun": False,
        "group": "Sample School",
        "closed": "We have withdrawn it.",
        "valid_until": day_words(until),
    }
