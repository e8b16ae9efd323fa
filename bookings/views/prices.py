"""What both booking forms do about prices: show one before anything is sold, and use a voucher."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from django.contrib import messages
from django.http import HttpRequest

from bookings.compute.prices import Quote
from bookings.errors import NotBooked
from bookings.forms import BookingForm
from bookings.models import Booking
from bookings.price_forms import spread
from bookings.quotes import quote_of
from bookings.services.count_attempt import count_attempt
from bookings.services.pay_by_voucher import pay_by_voucher
from bookings.views.limits import LOOK_UPS, address_of
from bookings.vouchers import left_on, usable_voucher
from foraywright.floor.acts import By
from foraywright.floor.compute.money import as_text
from foraywright.floor.refusals import Refusal


def shown_price(request: HttpRequest, form: BookingForm, *, now: datetime) -> Quote | None:
    """What the party that is filled in would pay; None where that cannot be said, which the form then says why."""
    if not form.can_be_priced():
        return None
    bands, data = form.band_words(), form.cleaned_data
    try:
        quote = quote_of(form.offering, bands, spread(form.prices, bands, data), data.get("discount", ""), now=now)
    except NotBooked as refused:
        for part in (refused.happened, *refused.why):
            form.add_error("discount", part)
        return None
    left = voucher_left(request, form, now=now)
    return None if form.errors else replace(quote, voucher=min(left, quote.to_pay))


def voucher_left(request: HttpRequest, form: BookingForm, *, now: datetime) -> int:
    """What the voucher on the form is worth for the offering; 0 for none, or for one that the form then says is none.

    Tries are counted, so that nobody guesses codes.
    """
    code = form.cleaned_data.get("voucher", "")
    try:
        if code:
            count_attempt("use voucher", address_of(request), most=LOOK_UPS, now=now)
        return left_on(usable_voucher(code, form.offering, now=now)) if code else 0
    except Refusal as refused:
        form.add_error("voucher", refused.sentence)
        return 0


def spend_voucher(request: HttpRequest, form: BookingForm, booking: Booking, *, by: By, now: datetime) -> None:
    """Pay for the new booking with the voucher on its form, and say what it paid, or why it did not."""
    if not (code := form.cleaned_data.get("voucher", "")):
        return
    try:
        amount = pay_by_voucher(booking, code, by=by, now=now)
    except Refusal as refused:
        messages.error(request, refused.sentence)
    else:
        messages.success(request, f"The voucher paid {as_text(amount, form.prices.currency)}.")
