"""Which provider takes cards, and a practice one for the demo and the tests, which moves no money."""

from __future__ import annotations

import hashlib
import hmac
import json
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.module_loading import import_string
from payments import PaymentError, RedirectNeeded
from payments.core import BasicProvider

from bookings.models import CardPayment
from foraywright.floor.compute.money import in_major
from foraywright.floor.models import Business

VARIANT = "card"


def takes_cards() -> bool:
    """Whether a provider is configured, and not the practice one outside a demonstration. One query.

    Without one nobody is offered to pay by card: a business must never take practice for money.
    """
    if VARIANT not in settings.PAYMENT_VARIANTS:
        return False
    practises = issubclass(import_string(settings.PAYMENT_VARIANTS[VARIANT][0]), PracticeProvider)
    return not practises or Business.objects.filter(is_demonstration=True).exists()


def event_of(payment: CardPayment, body: bytes) -> str:
    """What identifies a notice: the provider's id of the event, or a hash of what it sent."""
    try:
        told = json.loads(body)["id"]
    except (ValueError, KeyError, TypeError):
        told = hashlib.sha256(body).hexdigest()
    return f"{payment.pk}:{told}"[:80]


class PracticeProvider(BasicProvider):
    """A provider whose page is one of ours. Its notices are signed: HMAC-SHA256 of the raw body, as hexadecimal."""

    def __init__(self, secret: str, capture: bool = True) -> None:
        super().__init__(capture)
        self.secret = secret.encode()

    def get_form(self, payment: CardPayment, data: Any = None) -> None:
        raise RedirectNeeded(reverse("practice_card", args=[payment.token]))

    def sign(self, body: bytes) -> str:
        """The signature of a notice."""
        return hmac.new(self.secret, body, hashlib.sha256).hexdigest()

    def process_data(self, payment: CardPayment, request: HttpRequest) -> HttpResponse:
        """Verify the notice before a word of it is believed. Raises PaymentError."""
        if not hmac.compare_digest(self.sign(request.body).encode(), request.headers.get("Signature", "").encode()):
            raise PaymentError("The signature does not hold.")
        told = json.loads(request.body)
        if told["payment"] != payment.token:
            raise PaymentError("The notice is about another payment.")
        payment.captured_amount = in_major(told["captured"], payment.currency)
        payment.change_status(told["status"])
        return HttpResponse()
