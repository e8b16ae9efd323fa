"""The facts that every letter may say, read when it is sent."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.conf import settings
from django.urls import reverse

from bookings.compute.dues import dues
from bookings.compute.references import creditor_reference, in_groups
from bookings.compute.refunds import in_words, tiers_from
from bookings.dues import deposit_of
from bookings.models import Booking, BookingLine, OutboxMessage, Person
from bookings.queries import ADULT, balance, coming_back, paid, prices_of, unmatched_of
from bookings.services.booking_link import booking_link
from bookings.statutory import statutory_notes
from foraywright.floor.compute.plain_text import one_line
from foraywright.floor.models import Business
from walks.feeds.entries import walks_of
from walks.models import Offering, Site, Walk
from walks.queries import ratio_policy

LINKS = ("booking_page", "booking_handout", "booking_attendance", "booking_declarations")


@dataclass(frozen=True, slots=True)
class Date:
    """One walk of the booking, its times in the site's zone."""

    walk: Walk
    site: Site
    start: datetime
    end: datetime


@dataclass(frozen=True, slots=True)
class Charge:
    """So many people of one band at one price each, in minor units."""

    label: str
    count: int
    each: int


def facts_of(booking: Booking, *, now: datetime) -> dict[str, Any]:
    """What every letter may say, for its templates (see templates/mail/base.txt)."""
    offering = booking.offering
    all_lines = list(booking.lines.select_related("refunds", "prices"))
    lines = [one for one in all_lines if one.ended_at is None]
    refunds = all_lines[0].refunds if all_lines else offering.refunds
    labels, business = band_words(offering), Business.objects.get()
    dates, owes, had = walks_of(offering), balance(booking), paid(booking)
    return {
        "business": business,
        "booking": booking,
        "offering": offering,
        "dates": [date_of(walk) for walk in dates],
        "people": [_who(one, labels) for one in booking.party.people.order_by("pk")],
        "charges": _charges(lines, labels),
        "currency": lines[0].currency if lines else prices_of(offering).currency,
        "total": sum(line.net_minor for line in lines),
        "kept": sum(line.kept_minor for line in all_lines),
        "sold": booking.transfers.exists(),
        "held_until": booking.held_until and booking.held_until.astimezone(dates[0].clock),
        "paid": had,
        "owed": owes,
        "dues": dues(owes, had, pay_by=booking.pay_by, deposit=deposit_of(booking, lines, dates[0])),
        "coming_back": coming_back(booking),
        "beyond": unmatched_of(booking),
        "asks_arrival": any(walk.arrivals.asks for walk in dates),
        "reference": in_groups(creditor_reference(booking.code)),
        "refund_terms": in_words(tiers_from(refunds.body)),
        "rights": [note.says for note in statutory_notes(business.jurisdiction).for_buyer(group=offering.private)],
        **_links(booking, now=now),
    }


def facts_for_a_stranger(message: OutboxMessage) -> dict[str, Any]:
    """What may be told to an address that is nobody's any more: what was booked or quoted there, and who we are."""
    offering = message.offering
    return {
        "business": Business.objects.get(),
        "offering": offering,
        "dates": [date_of(walk) for walk in walks_of(offering)],
    }


def _links(booking: Booking, *, now: datetime) -> dict[str, str]:
    token = booking_link(booking, now=now)
    return {name: f"{settings.SITE_ADDRESS}{reverse(name, args=[token])}" for name in LINKS}


def date_of(walk: Walk) -> Date:
    zone = walk.clock
    return Date(walk, walk.site, walk.starts_at.astimezone(zone), walk.ends_at.astimezone(zone))


def band_words(offering: Offering) -> dict[str, str]:
    """How sentences name somebody of each band: "adult", "child of 4 to 8"."""
    bands = ratio_policy(offering.ratios).bands
    return {ADULT: "adult"} | {band.key: f"child of {band.label}" for band in bands}


def _who(person: Person, labels: dict[str, str]) -> str:
    label = "leader" if person.is_leader else labels.get(person.band, person.band)
    return f"{one_line(person.name)} ({label})" if person.name else label


def _charges(lines: list[BookingLine], labels: dict[str, str]) -> list[Charge]:
    counted = Counter((_charged(line, labels), line.net_minor) for line in lines)
    return [Charge(label, count, each) for (label, each), count in counted.items()]


def _charged(line: BookingLine, labels: dict[str, str]) -> str:
    who = labels.get(line.label, line.label)
    return f"{who}, {line.concession}" if line.concession else who
