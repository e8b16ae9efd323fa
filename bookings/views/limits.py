"""How often the public may take places or look bookings up; the counts are rows that every process sees."""

from __future__ import annotations

from datetime import datetime

from allauth.account.adapter import get_adapter
from django.http import HttpRequest, HttpResponse

from bookings.errors import TooOften
from bookings.models import Booking
from bookings.services.count_attempt import count_attempt
from bookings.services.orders import Order
from foraywright.floor.refusals import Refusal

SALES_OF_A_CONTACT = 6
SALES_OF_AN_ADDRESS = 30
LOOK_UPS = 20
"""Within an hour each (our rule)."""


def address_of(request: HttpRequest) -> str:
    """The network address that the request came from, read past the proxies that the settings trust."""
    return str(get_adapter(request).get_client_ip(request))


def keep_within_limits(request: HttpRequest, order: Order, *, now: datetime) -> None:
    """Count a party's form once, by its e-mail and by its network address. Raises TooOften."""
    if Booking.objects.filter(idempotency_key=order.key).exists():
        return
    count_attempt("take places, address", address_of(request), most=SALES_OF_AN_ADDRESS, now=now)
    count_attempt("take places, contact", order.email, most=SALES_OF_A_CONTACT, now=now)


def with_retry_after(answer: HttpResponse, refused: Refusal) -> HttpResponse:
    """Say in the answer's header when to try again, where the refusal knows."""
    if isinstance(refused, TooOften):
        answer["Retry-After"] = str(refused.seconds)
    return answer
