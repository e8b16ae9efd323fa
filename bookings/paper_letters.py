"""Letters on paper: the words of the mail, set as a page, with the address where it goes. Never stored."""

from __future__ import annotations

import hashlib
import re
from datetime import datetime

from bookings.letters import letter
from bookings.models import OutboxMessage
from foraywright.floor.models import Business
from foraywright.floor.pdf import Pdf, render_pdf
from foraywright.floor.printing import render_document

SECONDS = 30


def paper_html(message: OutboxMessage, *, now: datetime) -> str:
    """The page that is posted: written at this moment, as a mail would be."""
    mail, business = letter(message, now=now), Business.objects.get()
    return render_document(
        "print/letter.html",
        {
            "business": business,
            "contact": message.contact,
            "subject": mail.subject,
            "paragraphs": [part for part in re.split(r"\n{2,}", str(mail.body)) if part.strip("- \n")],
            "day": now.astimezone(business.clock).date(),
        },
    )


def paper_pdf(message: OutboxMessage, *, now: datetime) -> Pdf:
    """The page as a PDF, within 30 seconds. Raises PdfFailed."""
    html = paper_html(message, now=now)
    return render_pdf(html, identifier=hashlib.sha256(html.encode("utf-8")).hexdigest(), seconds=SECONDS)
