"""Staff accounts are made by the office; nobody signs themselves up."""

import logging
from typing import Any

from allauth.account.adapter import DefaultAccountAdapter
from allauth.core.exceptions import ImmediateHttpResponse
from django.core.mail import EmailMessage
from django.http import HttpRequest
from django.shortcuts import render

from foraywright.floor.telling_staff import at_once

logger = logging.getLogger(__name__)


class StaffAccountAdapter(DefaultAccountAdapter):
    """Closes the sign-up page of the login library, and says where a letter of its could not be sent."""

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        return False

    def render_mail(self, *args: Any, **kwargs: Any) -> EmailMessage:
        letter: EmailMessage = super().render_mail(*args, **kwargs)
        letter.connection = at_once()
        return letter

    def send_mail(self, template_prefix: str, email: str, context: dict[str, Any]) -> None:
        try:
            super().send_mail(template_prefix, email, context)
        except OSError as fault:  # smtplib's errors are among them
            logger.error("A letter to a staff account was not sent: %s", type(fault).__name__)
            page = render(self.request, "account/letter_not_sent.html", status=503)
            raise ImmediateHttpResponse(page) from fault
