"""What the owner of a staff account is told by letter: what somebody else did to the way in."""

from __future__ import annotations

import logging
from datetime import datetime

from django.conf import settings
from django.core.mail import EmailMessage, get_connection
from django.core.mail.backends.base import BaseEmailBackend
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone

from foraywright.floor.acts import By
from foraywright.floor.models import Business, User

NO_ADDRESS = "No e-mail address of theirs is known: tell them yourself."
NOT_SENT = "The letter to them could not be sent: tell them yourself."
SENT = "A letter to them is on its way."
SECONDS = 8
"""How long somebody who waits for a page waits for each answer of the mail server; the worker has more patience."""
logger = logging.getLogger(__name__)


def at_once() -> BaseEmailBackend:
    """A way to the mail server for a letter that is sent while somebody waits for the page."""
    return get_connection(timeout=SECONDS)


def tell_of_reset(user: User, *, by: By, now: datetime) -> str:
    """Write to `user` that their second factor was taken off, and say in a sentence what became of the letter.

    Sent at once, not through the outbox: that knows only those who book, and whoever took it off is here to be told
    where it fails. Never raises: what was done stands.
    """
    if not user.email:
        return NO_ADDRESS
    business = Business.objects.first()
    context = {
        "account": user,
        "business": business,
        "who": str(by) if isinstance(by, User) else "a command on the machine",
        "at": timezone.localtime(now),
        "address": settings.SITE_ADDRESS + reverse("account_change_password"),
    }
    body = render_to_string("account/email/second_factor_taken_off.txt", context)
    letter = EmailMessage("Your account: second factor taken off", body, to=[user.email], connection=at_once())
    letter.reply_to, letter.extra_headers = [business.email] if business else [], {"Auto-Submitted": "auto-generated"}
    try:
        letter.send()
    except OSError as fault:  # smtplib's errors are among them
        logger.error("A letter on a second factor was not sent: %s", type(fault).__name__)
        return NOT_SENT
    return SENT
