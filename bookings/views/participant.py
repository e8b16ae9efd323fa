"""A booking's own pages, by link and without an account."""

from __future__ import annotations

from datetime import datetime

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from bookings.card_provider import takes_cards
from bookings.compute.refunds import Settlement, in_words, tiers_from
from bookings.forms import NamesForm
from bookings.models import Booking
from bookings.paying import transfer_code_of
from bookings.services.cancel_booking import cancel_booking, settlement
from bookings.services.move_booking import may_move
from bookings.services.name_people import name_people
from bookings.services.settle_money import still_to_pay
from bookings.shown import BookingPage, booking_page_of, recalls_of
from bookings.views.by_link import by_link
from bookings.voucher_forms import UseVoucherForm
from foraywright.floor.asking import asks_anew, moved
from foraywright.floor.ids import new_secret
from foraywright.floor.telling import telling
from walks.queries import slug_of

CANCELLED = "The booking is cancelled, and your places are free for others."
GIVEN_UP = "That is given up. Places that were held for you are free for others."


@by_link
@require_http_methods(["GET", "HEAD", "POST"])
def booking_page(request: HttpRequest, booking: Booking, token: str, now: datetime) -> HttpResponse:
    """What is booked, for whom, what is owed; sent back, it keeps the names of the party."""
    page = booking_page_of(booking, now=now)
    form = NamesForm(request.POST or None, booking=booking, people=page.people)
    if request.method == "POST" and form.is_valid():
        with telling(request, "The names are kept."):
            name_people(booking, form.cleaned_data, by="participant", now=now)
        return redirect("booking_page", token)
    new = "new" in request.GET
    context = {"page": page, "form": form, "token": token, "new": new, "recalls": recalls_of(booking)}
    context |= {
        "slug": slug_of(booking.offering.public_id),
        "key": new_secret(),
        "voucher_form": UseVoucherForm(),
        "may_move": may_move(booking, now=now),
        "transfer_code": transfer_code_of(page),
        "to_pay": (to_pay := still_to_pay(booking)),
        "takes_cards": takes_cards() and page.live and to_pay > 0,
    }
    return render(request, "bookings/booking_page.html", context, status=422 if form.errors else 200)


@by_link
@require_http_methods(["GET", "HEAD", "POST"])
@asks_anew
def booking_cancel(request: HttpRequest, booking: Booking, token: str, now: datetime) -> HttpResponse:
    """Show what comes back before anything is cancelled; sent back with the same amounts, cancel."""
    page = booking_page_of(booking, now=now)
    if not page.changeable:
        return redirect("booking_page", token)
    terms = settlement(booking, ours=False, now=now)
    changed = moved(request, terms.mark)
    if request.method != "POST" or changed:
        return _cancel_page(request, page, terms, token, changed=changed)
    with telling(request, CANCELLED if page.sold else GIVEN_UP):
        cancel_booking(booking, seen=terms.mark, by="participant", now=now)
    return redirect("booking_page", token)


def _cancel_page(
    request: HttpRequest, page: BookingPage, terms: Settlement, token: str, *, changed: str
) -> HttpResponse:
    policy = in_words(tiers_from(page.booking.offering.refunds.body))
    line = page.booking.lines.select_related("refunds").first()
    if line is not None:
        policy = in_words(tiers_from(line.refunds.body))
    context = {"page": page, "terms": terms, "policy": policy, "token": token, "changed": changed}
    return render(request, "bookings/cancel.html", context, status=409 if changed else 200)
