"""A walk's own page and the way to a booking of it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from functools import partial
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from bookings.card_provider import page_end, takes_cards
from bookings.compute.prices import Quote
from bookings.errors import NotBooked, NotJoined, TooOften
from bookings.forms import BookingForm, FindBookingForm, WaitingForm, first_values
from bookings.models import Booking
from bookings.retention import RULES
from bookings.services.book_places import book_places
from bookings.services.booking_link import booking_link
from bookings.services.count_attempt import count_attempt
from bookings.services.hold_places import hold_places
from bookings.services.join_waiting_list import join_waiting_list
from bookings.services.orders import Order
from bookings.services.send_new_link import send_new_link
from bookings.services.start_card_payment import start_card_payment
from bookings.shown import WalkPage, walk_page_of
from bookings.views.cards import to_the_card
from bookings.views.limits import LOOK_UPS, address_of, keep_within_limits, with_retry_after
from bookings.views.prices import shown_price, spend_voucher, voucher_left
from curriculum.queries import species_slugs
from foraywright.floor.acts import By
from foraywright.floor.door import names_act
from foraywright.floor.refusals import Refusal
from walks.models import Offering
from walks.queries import offering_by_slug, ratio_policy

Sale = Callable[..., Booking]

TWICE = "These places were booked already with the same form. Nothing was booked twice."


@names_act("public.read")
@require_safe
def walk_page(request: HttpRequest, slug: str) -> HttpResponse:
    """Everything that somebody needs to know of one walk or course before booking."""
    now = timezone.now()
    offering, present = offering_by_slug(slug)
    if offering is None:
        raise Http404
    if present != slug:
        return redirect("walk_page", present, permanent=True)
    return render(request, "bookings/walk_page.html", _walk_context(offering, slug, now=now))


def _walk_context(offering: Offering, slug: str, *, now: datetime) -> dict[str, Any]:
    return {"page": walk_page_of(offering, now=now), "offering": offering, "slug": slug, "species": species_slugs()}


@names_act("booking.make")
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def book(request: HttpRequest, slug: str) -> HttpResponse:
    """The form that takes places; a refusal shows it again as it was filled in."""
    now = timezone.now()
    offering, present = offering_by_slug(slug)
    if offering is None:
        raise Http404
    if request.method == "POST":
        return _take_places(request, offering, present, now=now)
    page = walk_page_of(offering, now=now)
    if not page.bookable:
        return redirect("walk_page", present)
    bands = ratio_policy(offering.ratios).bands
    form = BookingForm(offering=offering, bands=bands, cards=takes_cards(), initial=first_values(bands, request.GET))
    return _form_page(request, form, page, present)


def _take_places(request: HttpRequest, offering: Offering, slug: str, *, now: datetime) -> HttpResponse:
    cards, bands = takes_cards(), ratio_policy(offering.ratios).bands
    form = BookingForm(request.POST, offering=offering, bands=bands, cards=cards)
    sale = hold_for_the_card if cards and "card" in request.POST else book_places
    return _answer(request, form, slug, sale, now=now)


def hold_for_the_card(order: Order, *, by: By, now: datetime) -> Booking:
    """Hold places for as long as the provider's page can be paid on."""
    return hold_places(order, by=by, session_ends_at=page_end(now=now), now=now)


@names_act("booking.make")
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def join_list(request: HttpRequest, slug: str) -> HttpResponse:
    """The same form for a party that waits for places."""
    now = timezone.now()
    offering, present = offering_by_slug(slug)
    if offering is None:
        raise Http404
    bands = ratio_policy(offering.ratios).bands
    if request.method == "POST":
        form = WaitingForm(request.POST, offering=offering, bands=bands)
        return _answer(request, form, present, join_waiting_list, now=now)
    page = walk_page_of(offering, now=now)
    if not page.may_wait:
        return redirect("walk_page", present)
    form = WaitingForm(offering=offering, bands=bands, initial=first_values(bands, request.GET))
    return _form_page(request, form, page, present)


def _answer(request: HttpRequest, form: BookingForm, slug: str, sale: Sale, *, now: datetime) -> HttpResponse:
    """Carry out `sale` with the filled-in form, or show it again with the price or with what stands against it."""
    if "price" in request.POST:
        return _form_page(
            request, form, walk_page_of(form.offering, now=now), slug, quote=shown_price(request, form, now=now)
        )
    if not form.is_valid() or (voucher_left(request, form, now=now) <= 0 and form.errors):
        return _form_page(request, form, walk_page_of(form.offering, now=now), slug, status=422)
    try:
        keep_within_limits(request, form.order(), now=now)
        booking = sale(form.order(), by="participant", now=now)
    except (NotBooked, NotJoined, TooOften) as refused:
        show_refusal(form, refused)
        status = 429 if isinstance(refused, TooOften) else 409
        answer = _form_page(request, form, walk_page_of(form.offering, now=now), slug, status=status)
        return with_retry_after(answer, refused)
    if booking.booked_at == now:
        spend_voucher(request, form, booking, by="participant", now=now)
    elif sale is not hold_for_the_card:
        messages.info(request, TWICE)
    if sale is hold_for_the_card:
        begin = partial(start_card_payment, booking, by="participant", now=now)
        if page := to_the_card(request, begin):
            return page
    return redirect(reverse("booking_page", args=[booking_link(booking, now=now)]) + "?new")


def show_refusal(form: BookingForm, refused: Refusal) -> None:
    """Put the sentences of a refusal on the form; how many would fit stands at the number that is to be lowered."""
    for part in (refused.happened, *refused.why, refused.became):
        if part:
            form.add_error(None, part)
    if refused.now:
        form.add_error("adults" if isinstance(refused, NotBooked) and refused.would_fit else None, refused.now)


def _form_page(
    request: HttpRequest,
    form: BookingForm,
    page: WalkPage,
    slug: str,
    *,
    quote: Quote | None = None,
    status: int = 200,
) -> HttpResponse:
    context = {"form": form, "page": page, "slug": slug, "waits": isinstance(form, WaitingForm), "quote": quote}
    return render(request, "bookings/book.html", context, status=status)


@names_act("booking.make")
@require_http_methods(["GET", "HEAD", "POST"])
def find_booking(request: HttpRequest) -> HttpResponse:
    """Ask for a new link to one's booking; the answer is the same whether there is such a booking or not."""
    form = FindBookingForm(request.POST or None)
    if not form.is_valid():
        return render(request, "bookings/find_booking.html", {"form": form}, status=422 if form.is_bound else 200)
    now = timezone.now()
    try:
        count_attempt("find booking", address_of(request), most=LOOK_UPS, now=now)
    except TooOften as refused:
        form.add_error(None, refused.sentence)
        return with_retry_after(render(request, "bookings/find_booking.html", {"form": form}, status=429), refused)
    send_new_link(form.cleaned_data["code"], form.cleaned_data["email"], by="participant", now=now)
    return redirect("link_on_its_way")


@names_act("public.read")
@require_safe
def link_on_its_way(request: HttpRequest) -> HttpResponse:
    """What everybody reads who asked for a link."""
    return render(request, "bookings/link_on_its_way.html")


@names_act("public.read")
@require_safe
def privacy(request: HttpRequest) -> HttpResponse:
    """What is kept of people, who sees it and how to have it erased."""
    return render(request, "bookings/privacy.html", {"rules": RULES})
