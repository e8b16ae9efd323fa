"""Which provider takes cards, and a practice one for the demo and the tests, which moves no money."""

from __future__ import annotations

import hashlib
import hmac
import json
from datetime import datetime, timedelta
from fractions import Fraction
from io import BytesIO
from typing import Any

from django.conf import settings
from django.core.handlers.wsgi import WSGIRequest
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.module_loading import import_string
from payments import PaymentError, PaymentStatus, RedirectNeeded
from payments.core import BasicProvider, provider_factory

from bookings.models import CardPayment, ChargebackTold
from foraywright.floor.compute.money import decimals, half_up, in_major
from foraywright.floor.ids import new_public_id
from foraywright.floor.models import Business

VARIANT = "card"


def takes_cards() -> bool:
    """Whether a participant may be offered to pay by card. One query."""
    return not why_no_cards()


def why_no_cards() -> str:
    """Why nobody is offered to pay by card, and what to do about it, for the office; empty where they are. One query.

    Without a provider, or with practice outside a demonstration, nobody is: a business must never take practice for
    money.
    """
    if VARIANT not in settings.PAYMENT_VARIANTS:
        return "no card provider is set up. Set CARD_PROVIDER and what belongs to it (README.md), and start anew."
    provider = _provider()
    currency, is_demonstration = Business.objects.values_list("currency", "is_demonstration").get()
    if isinstance(provider, PracticeProvider) and not is_demonstration:
        return "only the practice provider is set up, and this is no demonstration. Set CARD_PROVIDER to a real one."
    if not sends_exactly(provider, currency):
        return f"the provider’s program may ask for another amount of {currency} than ours. Choose another provider."
    return ""


def _provider() -> BasicProvider:
    kind, arguments = settings.PAYMENT_VARIANTS[VARIANT]
    return import_string(kind)(**arguments)


def sends_exactly(provider: BasicProvider, currency: str) -> bool:
    """Whether the provider's code asks for the same amount of `currency` as we do.

    Providers count in minor units, and code for them may take a hundredth for the minor unit of every currency: ten
    times too little of a dinar. Where the code turns amounts into minor units it is asked; else only two decimals are
    trusted (our rule).
    """
    if isinstance(provider, PracticeProvider):
        return True
    convert = getattr(provider, "convert_amount", None)
    if convert is None:
        return decimals(currency) == 2
    return convert(currency, in_major(12345, currency)) == 12345


def page_end(*, now: datetime) -> datetime | None:
    """When a page of the provider that is opened now ends; None where neither it nor the settings say."""
    if VARIANT not in settings.PAYMENT_VARIANTS:
        return None
    lives = getattr(_provider(), "page_lives", None) or settings.CARD_PAGE_LIVES
    return now + lives if lives else None


def event_of(payment: CardPayment, body: bytes) -> str:
    """What identifies a notice: the provider's id of the event, or a hash of what it sent."""
    try:
        told = json.loads(body)["id"]
    except (ValueError, KeyError, TypeError):
        told = hashlib.sha256(body).hexdigest()
    return f"{payment.pk}:{told}"[:80]


class PracticeProvider(BasicProvider):
    """A provider whose page is one of ours. Its notices are signed: HMAC-SHA256 of the raw body, as hexadecimal."""

    page_lives = timedelta(minutes=30)

    def __init__(self, secret: str, capture: bool = True) -> None:
        super().__init__(capture)
        self.secret = secret.encode()

    def get_form(self, payment: CardPayment, data: Any = None) -> None:
        raise RedirectNeeded(reverse("practice_card", args=[payment.token]))

    def cancel(self, payment: CardPayment) -> None:
        """Withdraw the page: it looks at our own row, so there is nothing to send."""

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
        if "chargeback" in told:
            payment.chargeback_told = _chargeback(told["chargeback"])
        else:
            payment.captured_amount = in_major(told["captured"], payment.currency)
            payment.change_status(told["status"])
        payment.fee_told = told.get("fee")
        return HttpResponse()


def _chargeback(told: dict[str, Any]) -> ChargebackTold:
    if not told["id"] or told["amount"] <= 0:
        raise PaymentError("The notice makes no sense.")
    return ChargebackTold(str(told["id"]), int(told["amount"]), bool(told["given_back"]))


def practice_fee(amount_minor: int) -> int:
    """What the practice provider keeps of a payment, made up: 1.5 % and 20 minor units, never more than all of it."""
    return min(amount_minor, half_up(Fraction(amount_minor * 15, 1000)) + 20)


def practice_notice(payment: CardPayment, does: str) -> dict[str, Any] | None:
    """What the practice provider tells when somebody `does` something on its page; None where that cannot be done.

    A page that was paid or withdrawn is not paid again, and what was not paid is not taken back.
    """
    head = {"id": new_public_id(), "payment": payment.token}
    is_paid = payment.status == PaymentStatus.CONFIRMED
    if payment.status == PaymentStatus.CANCELLED:
        return None
    if does == "pay" and not is_paid:
        amount = payment.asked_minor
        return head | {"status": PaymentStatus.CONFIRMED, "captured": amount, "fee": practice_fee(amount)}
    if does == "decline" and not is_paid:
        return head | {"status": PaymentStatus.REJECTED, "captured": 0}
    if does in ("take_back", "give_back") and is_paid:
        given_back = does == "give_back"
        return head | {"chargeback": {"id": "practice", "amount": payment.asked_minor, "given_back": given_back}}
    return None


def signed_notice(payment: CardPayment, told: dict[str, Any]) -> HttpRequest:
    """The request by which the practice provider tells something of the payment."""
    provider, body = provider_factory(payment.variant, payment), json.dumps(told).encode()
    return WSGIRequest(
        {
            "REQUEST_METHOD": "POST",
            "PATH_INFO": "/",
            "CONTENT_LENGTH": str(len(body)),
            "HTTP_SIGNATURE": provider.sign(body),
            "wsgi.input": BytesIO(body),
        }
    )
