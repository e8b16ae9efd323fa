"""Paying by card: from the booking's page to the provider's, its notices, and the page to which it leads back."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from functools import partial

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods, require_POST, require_safe
from payments import PaymentError, PaymentStatus, RedirectNeeded
from payments.core import provider_factory

from bookings.card_provider import PracticeProvider, practice_notice, signed_notice, takes_cards
from bookings.errors import NotRecorded
from bookings.models import Booking, CardPayment
from bookings.services.receive_card_notice import receive_card_notice
from bookings.services.start_card_payment import start_card_payment
from bookings.views.by_link import by_link
from foraywright.floor.door import names_act

ORDERED_HERE = "voucher ordered here"
"""Where a session keeps the link to the page of the voucher whose payment it began."""


@by_link
@require_POST
def booking_card(request: HttpRequest, booking: Booking, token: str, now: datetime) -> HttpResponse:
    """Go to the provider's page to pay what is owed."""
    begin = partial(start_card_payment, booking, by="participant", now=now)
    return to_the_card(request, begin) or redirect("booking_page", token)


def to_the_card(request: HttpRequest, begin: Callable[[], CardPayment]) -> HttpResponse | None:
    """Lead to the provider's page; None, with the reason told, where `begin` finds nothing to pay by card."""
    try:
        begin().get_form()
    except NotRecorded as refused:
        messages.error(request, refused.sentence)
    except PaymentError:
        messages.error(request, "The card provider’s page did not open. Nothing was paid; try again, or pay later.")
    except RedirectNeeded as to:
        return redirect(str(to))
    return None


@names_act("booking.by_link")
@csrf_exempt
@never_cache
@require_POST
def process_payment(request: HttpRequest, token: str) -> HttpResponse:
    """A notice of the provider. The signature, which the provider's code verifies, is the permission."""
    return receive_card_notice(_payment(token), request, now=timezone.now())


@names_act("booking.by_link")
@never_cache
@require_safe
def card_done(request: HttpRequest, token: str) -> HttpResponse:
    """Where the provider leads back to: what we know of the payment, and nothing about who booked, or of a code."""
    payment = _payment(token)
    if payment.booking is None:
        return render(request, "bookings/card_done_voucher.html", {"payment": payment, "order": _ordered_here(request)})
    held_until = payment.booking.held_until
    zone = payment.booking.offering.walks.earliest("starts_at").clock if held_until else None
    context = {"payment": payment, "held_until": held_until and held_until.astimezone(zone)}
    return render(request, "bookings/card_done.html", context)


def _ordered_here(request: HttpRequest) -> str:
    """The link to the voucher's page that this browser came from: the provider, which knows this page, gets none."""
    return request.session.get(ORDERED_HERE, "")


@names_act("booking.by_link")
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def practice_card(request: HttpRequest, token: str) -> HttpResponse:
    """The page of the practice provider, which sends us the same signed notice that a provider would."""
    payment = _payment(token)
    provider = provider_factory(payment.variant, payment)
    if not isinstance(provider, PracticeProvider) or not takes_cards():
        raise Http404
    ends, now = payment.page_ends_at, timezone.now()
    is_over = payment.status == PaymentStatus.CANCELLED or (payment.is_open() and ends is not None and ends <= now)
    if request.method != "POST" or is_over:
        context = {"payment": payment, "is_over": is_over}
        return render(request, "bookings/practice_card.html", context, status=410 if is_over else 200)
    told = practice_notice(payment, request.POST.get("does", ""))
    if told is not None:
        receive_card_notice(payment, signed_notice(payment, told), now=now)
    return redirect("card_done", token)


def _payment(token: str) -> CardPayment:
    return get_object_or_404(CardPayment.objects.select_related("booking__offering", "order"), token=token)
