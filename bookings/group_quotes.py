"""A quote as page, paper and letter show it."""

from __future__ import annotations

import hashlib
from collections import Counter
from datetime import datetime, timedelta
from typing import Any

from django.conf import settings
from django.urls import reverse

from bookings.compute.refunds import in_words, tiers_from
from bookings.letter_facts import band_words, date_of
from bookings.models import GroupQuote
from bookings.queries import paid
from bookings.quote_states import OPEN, booked_by, quote_state
from bookings.vat import taxed_as
from foraywright.floor.compute.clock_words import day_words
from foraywright.floor.compute.money import tax_within
from foraywright.floor.links import make_link
from foraywright.floor.models import Business, LinkSecret
from foraywright.floor.pdf import Pdf, render_pdf
from foraywright.floor.printing import render_document
from walks.models import Walk
from walks.queries import with_everything

SECONDS = 30
QUOTE_LINKS = ("quote_page", "quote_paper")
OPEN_AFTERWARDS = timedelta(days=60)
LEADERS_BRING = (
    "the emergency contacts and the medicines of their own children",
    "a charged telephone, and a list of who came",
    "parents’ leave for each child, as your own rules ask for it",
)
"""Common practice, no source."""


def quote_link(quote: GroupQuote, *, now: datetime) -> str:
    """Make a link that opens the quote until 60 days after its walk; return its token."""
    last = quote.offering.walks.latest("ends_at")
    return make_link(LinkSecret.Purpose.QUOTE, quote.public_id, expires_at=last.ends_at + OPEN_AFTERWARDS, now=now)


def quote_facts(quote: GroupQuote, *, now: datetime) -> dict[str, Any]:
    """What page, paper and letter say of a quote; `standing`: what the group has booked of the walk, `before`: the same
    where accepting would change it.
    """
    state, standing = quote_state(quote, now=now), booked_by(quote.enquiry, quote.offering)
    before = standing if state == OPEN else None
    rate = taxed_as(quote.offering, now=now).basis_points
    words, counted = band_words(quote.offering), Counter(quote.bands)
    return {
        "business": Business.objects.get(),
        "quote": quote,
        "enquiry": quote.enquiry,
        "offering": quote.offering,
        "days": list(with_everything(Walk.objects.filter(offering=quote.offering)).order_by("starts_at")),
        "who": [f"{number} × {words.get(band, band)}" for band, number in counted.items()],
        "vat": tax_within(quote.total_minor, rate),
        "state": state,
        "standing": standing,
        "before": before,
        "others": other_open_quotes(quote, now=now) if state == OPEN else [],
        "paid": before and paid(before),
        "refund_terms": in_words(tiers_from(quote.offering.refunds.body)),
        "leaders_bring": LEADERS_BRING,
    }


def other_open_quotes(quote: GroupQuote, *, now: datetime) -> list[GroupQuote]:
    """What the same group could accept besides: quotes for other walks. Some queries for each of its quotes."""
    others = GroupQuote.objects.filter(enquiry=quote.enquiry_id, booking=None).exclude(offering=quote.offering_id)
    rows = others.select_related("offering").order_by("made_at")
    return [one for one in rows if quote_state(one, now=now) == OPEN]


def quote_letter_facts(quote: GroupQuote, *, now: datetime) -> dict[str, Any]:
    """What the letter with the quote says, for its templates; it makes a new link."""
    facts = quote_facts(quote, now=now)
    token = quote_link(quote, now=now)
    return facts | {
        "dates": [date_of(walk) for walk in facts["days"]],
        "people": [*facts["who"], f"{quote.leaders_in_words} of your own"],
        "group": quote.enquiry.group,
        "amount": quote.total_minor,
        "currency": quote.currency,
        "valid_until": day_words(quote.valid_until),
        **{name: f"{settings.SITE_ADDRESS}{reverse(name, args=[token])}" for name in QUOTE_LINKS},
    }


def closed_letter_facts(quote: GroupQuote, *, now: datetime) -> dict[str, Any]:
    """What the letter says that tells a group of a quote that it can no longer accept; `before`: what stands."""
    facts = quote_letter_facts(quote, now=now)
    return facts | {
        "before": booked_by(quote.enquiry, quote.offering),
        "closed": {
            "withdrawn": "We have withdrawn it.",
            "called_off": "The walk does not take place.",
            "ran_out": f"It could be accepted until {facts['valid_until']}.",
        }[facts["state"]],
    }


def quote_pdf(quote: GroupQuote, *, now: datetime) -> Pdf:
    """The quote as a PDF, within 30 seconds; never stored. Raises PdfFailed."""
    html = render_document("print/quote.html", quote_facts(quote, now=now))
    return render_pdf(html, identifier=hashlib.sha256(html.encode("utf-8")).hexdigest(), seconds=SECONDS)
