"""Letters to whoever booked. A letter is written when it is sent, from the facts of that moment.

Its words are the office's, or ours (`letter_texts`); the facts, the links and whatever is said for safety stand in
`templates/mail/` and cannot be edited away.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import datetime
from email.mime.text import MIMEText
from typing import Any

from django.core.mail import EmailMultiAlternatives
from django.template.loader import render_to_string
from django.utils.safestring import mark_safe

from bookings.compute.letter_words import Words, in_html, in_subject, in_text
from bookings.group_quotes import closed_letter_facts, quote_letter_facts
from bookings.letter_facts import facts_for_a_stranger, facts_of
from bookings.letter_matters import matter_of
from bookings.letter_texts import values_of, words_in_use
from bookings.models import Booking, OutboxMessage
from bookings.own_calendar import own_calendar
from foraywright.floor.compute.plain_text import one_line, several_lines

Kind = OutboxMessage.Kind

IN_A_CALENDAR = (Booking.State.CONFIRMED, Booking.State.CANCELLED, Booking.State.CALLED_OFF)
"""States of a booking that stand in the calendar of whoever booked."""

FOR_THE_CALENDAR = (
    Kind.CONFIRMATION,
    Kind.CHANGED,
    Kind.MOVED,
    Kind.CANCELLED,
    Kind.CALLED_OFF,
    Kind.JOINING,
    Kind.WALK_CHANGED,
    Kind.NEW_LINK,
    Kind.CONTACT,
)
"""Letters that may say something new to a calendar."""


def letter(message: OutboxMessage, *, now: datetime) -> EmailMultiAlternatives:
    """Write the letter that `message` intends. It makes a new link to booking or quote; earlier ones stay good.

    The subject says nothing of a person: it shows on locked screens and in logs of mail servers.
    """
    context, booking = _facts(message, now=now), message.booking
    subject, text, html = composed(message.kind, context, words_in_use(message.kind))
    mail = EmailMultiAlternatives(
        subject=subject,
        body=text,
        to=[message.goes_to],
        reply_to=[context["business"].email],
        headers={"Message-ID": message.message_id, "Auto-Submitted": "auto-generated"},
    )
    mail.attach_alternative(html, "text/html")
    if booking is not None and message.kind in FOR_THE_CALENDAR and booking.state in IN_A_CALENDAR:
        mail.attach(calendar_part(own_calendar(booking)))
    return mail


def _facts(message: OutboxMessage, *, now: datetime) -> dict[str, Any]:
    if message.kind == Kind.FORMER_CONTACT:
        return facts_for_a_stranger(message)
    if message.booking is None:
        made = closed_letter_facts if message.kind == Kind.QUOTE_CLOSED else quote_letter_facts
        return made(message.quoted, now=now)
    context = facts_of(message.booking, now=now)
    return context | matter_of(message, context, now=now)


def composed(kind: str, context: Mapping[str, Any], words: Words) -> tuple[str, str, str]:
    """Subject, text and HTML of a letter of `kind` with those words. No query."""
    values = values_of(kind, context)
    safe = mark_safe(in_html(words, values))
    text = render_to_string(f"mail/{kind}.txt", {**context, "words": in_text(words, values)})
    html = render_to_string(f"mail/{kind}.html", {**context, "words": safe})
    return one_line(in_subject(words, values)), _without_gaps(several_lines(text)), several_lines(html)


def calendar_part(content: bytes) -> MIMEText:
    """The attachment; its `method` is the METHOD inside, as RFC 6047 section 2.4 asks."""
    part = MIMEText(content.decode("utf-8"), "calendar", "utf-8")
    part.set_param("method", "PUBLISH")
    part.add_header("Content-Disposition", "attachment", filename="walk.ics")
    return part


def _without_gaps(text: str) -> str:
    return re.sub(r"\n\s*\n\s*", "\n\n", text).strip() + "\n"
