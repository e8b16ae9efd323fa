"""Letters to whoever booked. A letter is written when it is sent, from the facts of that moment."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass
from datetime import datetime
from email.mime.text import MIMEText
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.core.mail import EmailMultiAlternatives
from django.template.loader import render_to_string
from django.urls import reverse

from bookings.compute.references import creditor_reference, in_groups
from bookings.compute.refunds import in_words, tiers_from
from bookings.models import Booking, BookingLine, OutboxMessage, Person
from bookings.own_calendar import own_calendar
from bookings.queries import ADULT, balance, coming_back, paid, prices_of
from bookings.services.booking_link import booking_link
from curriculum.models import Withdrawal
from curriculum.queries import account_of
from foraywright.floor.compute.plain_text import one_line, several_lines
from foraywright.floor.models import Business
from walks.feeds.entries import walks_of
from walks.models import Offering, Site, Walk
from walks.queries import ratio_policy

IN_A_CALENDAR = (Booking.State.CONFIRMED, Booking.State.CANCELLED, Booking.State.CALLED_OFF)
"""States of a booking that stand in the calendar of whoever booked."""


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


def letter(message: OutboxMessage, *, now: datetime) -> EmailMultiAlternatives:
    """Write the letter that `message` intends. It makes a new link to the booking; earlier ones stay good.

    The subject says nothing of a person: it shows on locked screens and in logs of mail servers.
    """
    context = _facts(message.booking, now=now) | _recalled(message)
    subject, text, html = (
        several_lines(render_to_string(f"mail/{message.kind}.{form}", context))
        for form in ("subject.txt", "txt", "html")
    )
    mail = EmailMultiAlternatives(
        subject=one_line(subject),
        body=_without_gaps(text),
        to=[message.contact.email],
        reply_to=[context["business"].email],
        headers={"Message-ID": message.message_id, "Auto-Submitted": "auto-generated"},
    )
    mail.attach_alternative(html, "text/html")
    if message.booking.state in IN_A_CALENDAR:
        mail.attach(calendar_part(own_calendar(message.booking)))
    return mail


def calendar_part(content: bytes) -> MIMEText:
    """The attachment; its `method` is the METHOD inside, as RFC 6047 section 2.4 asks."""
    part = MIMEText(content.decode("utf-8"), "calendar", "utf-8")
    part.set_param("method", "PUBLISH")
    part.add_header("Content-Disposition", "attachment", filename="walk.ics")
    return part


def _without_gaps(text: str) -> str:
    return re.sub(r"\n\s*\n\s*", "\n\n", text).strip() + "\n"


def _facts(booking: Booking, *, now: datetime) -> dict[str, Any]:
    """What every letter may say, for its templates (see templates/mail/base.html)."""
    offering = booking.offering
    all_lines = list(booking.lines.select_related("refunds"))
    lines = [one for one in all_lines if one.ended_at is None]
    refunds = all_lines[0].refunds if all_lines else offering.refunds
    labels = _labels(offering)
    return {
        "business": Business.objects.get(),
        "booking": booking,
        "offering": offering,
        "dates": [_date(walk) for walk in walks_of(offering)],
        "people": [_who(one, labels) for one in booking.party.people.order_by("pk")],
        "charges": _charges(lines, labels),
        "currency": lines[0].currency if lines else prices_of(offering).currency,
        "total": sum(line.net_minor for line in lines),
        "sold": booking.transfers.exists(),
        "held_until": booking.held_until and booking.held_until.astimezone(ZoneInfo(walks_of(offering)[0].zone)),
        "paid": paid(booking),
        "owed": balance(booking),
        "coming_back": coming_back(booking),
        "reference": in_groups(creditor_reference(booking.code)),
        "refund_terms": in_words(tiers_from(refunds.body)),
        **_links(booking, now=now),
    }


def _recalled(message: OutboxMessage) -> dict[str, Any]:
    """What a recall says beside the facts of the booking: the withdrawal, and the sheet by its name."""
    if message.kind != OutboxMessage.Kind.RECALL:
        return {}
    withdrawal = Withdrawal.objects.select_related("version__taxon").get(pk=message.version)
    return {"withdrawal": withdrawal, "sheet_name": account_of(withdrawal.version).vernacular()}


def _links(booking: Booking, *, now: datetime) -> dict[str, str]:
    token = booking_link(booking, now=now)
    return {
        name: f"{settings.SITE_ADDRESS}{reverse(name, args=[token])}" for name in ("booking_page", "booking_handout")
    }


def _date(walk: Walk) -> Date:
    zone = ZoneInfo(walk.zone)
    return Date(walk, walk.site, walk.starts_at.astimezone(zone), walk.ends_at.astimezone(zone))


def _labels(offering: Offering) -> dict[str, str]:
    bands = ratio_policy(offering.ratios).bands
    return {ADULT: "adult"} | {band.key: f"child of {band.label}" for band in bands}


def _who(person: Person, labels: dict[str, str]) -> str:
    label = labels.get(person.band, person.band)
    return f"{one_line(person.name)} ({label})" if person.name else label


def _charges(lines: list[BookingLine], labels: dict[str, str]) -> list[Charge]:
    counted = Counter((labels.get(line.label, line.label), line.net_minor) for line in lines)
    return [Charge(label, count, each) for (label, each), count in counted.items()]
