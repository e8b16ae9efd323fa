"""A quote as page and paper show it."""

from __future__ import annotations

import hashlib
from collections import Counter
from datetime import datetime, timedelta
from typing import Any

from bookings.forms import band_label
from bookings.models import GroupQuote
from bookings.services.quote_group import local_day
from bookings.vat import taxed_as
from foraywright.floor.compute.money import tax_within
from foraywright.floor.links import make_link
from foraywright.floor.models import Business
from foraywright.floor.pdf import Pdf, render_pdf
from foraywright.floor.printing import render_document
from walks.models import Walk
from walks.queries import with_everything

SECONDS = 30
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
    return make_link("quote", quote.public_id, expires_at=last.ends_at + OPEN_AFTERWARDS, now=now)


def quote_facts(quote: GroupQuote, *, now: datetime) -> dict[str, Any]:
    """What page and paper say of a quote. Ten queries."""
    rate = taxed_as(quote.offering, now=now).basis_points
    counted = Counter(band_label(one, quote.offering) for one in quote.bands)
    return {
        "business": Business.objects.get(),
        "quote": quote,
        "enquiry": quote.enquiry,
        "offering": quote.offering,
        "days": list(with_everything(Walk.objects.filter(offering=quote.offering)).order_by("starts_at")),
        "who": [f"{number} × {label.lower()}" for label, number in counted.items()],
        "vat": tax_within(quote.total_minor, rate),
        "ran_out": quote.booking_id is None and quote.valid_until < local_day(quote, now=now),
        "newer": GroupQuote.objects.filter(enquiry=quote.enquiry, made_at__gt=quote.made_at).exists(),
        "leaders_bring": LEADERS_BRING,
    }


def quote_pdf(quote: GroupQuote, *, now: datetime) -> Pdf:
    """The quote as a PDF, within 30 seconds; never stored. Raises PdfFailed."""
    html = render_document("print/quote.html", quote_facts(quote, now=now))
    return render_pdf(html, identifier=hashlib.sha256(html.encode("utf-8")).hexdigest(), seconds=SECONDS)
