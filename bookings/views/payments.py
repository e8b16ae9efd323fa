"""Pages on which a payment for a booking is noted, and a refund that was paid out."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from bookings.compute.repaying import shared_by_means
from bookings.models import Booking, Chargeback
from bookings.money_forms import MeetingPointForm, PaymentForm, RefundForm, WhyForm
from bookings.queries import balance, currency_of, means_of, paid, refund_due, unmatched_of
from bookings.services.pay_refund import pay_refund
from bookings.services.promise_back import promise_back
from bookings.services.record_payment import record_payment
from bookings.services.write_off_debt import against_writing_off, write_off_debt
from foraywright.floor.asking import asks_anew, moved
from foraywright.floor.compute.money import as_text, in_major
from foraywright.floor.compute.permissions import Subject
from foraywright.floor.door import may_open, names_act, require
from foraywright.floor.telling import telling
from walks.views.guide import staff
from walks.views.sites import FORM, done


@names_act("payment.note")
@never_cache
@require_http_methods(FORM)
def staff_payment(request: HttpRequest, code: str) -> HttpResponse:
    """Note cash, card or a transfer for a booking."""
    booking = _booking(code)
    guides = booking.offering.walks.values_list("guides__public_id", flat=True)
    require(request, "payment.note", Subject(guides=frozenset(one for one in guides if one)))
    owed, currency, is_office = balance(booking), currency_of(booking), may_open(request, reverse("staff_money"))
    kind = PaymentForm if is_office else MeetingPointForm
    form = kind(request.POST or None, initial={"amount": _plain(owed, currency)})
    if done(request, form, lambda: _note(request, booking, form, currency)):
        return redirect("staff_booking", code) if is_office else redirect("staff_walk", booking.offering.public_id)
    context = {"booking": booking, "form": form, "owed": owed, "paid": paid(booking), "currency": currency}
    return render(request, "bookings/staff_payment.html", context, status=422 if form.errors else 200)


def _booking(code: str) -> Booking:
    return get_object_or_404(Booking.objects.select_related("party__contact", "offering__prices"), code=code)


def _plain(minor: int, currency: str) -> str:
    """The amount as the form takes it; empty for nothing."""
    return f"{in_major(minor, currency):f}" if minor > 0 else ""


def _note(request: HttpRequest, booking: Booking, form: PaymentForm, currency: str) -> str:
    told = form.cleaned_data
    new = record_payment(
        booking,
        into=told["into"],
        amount_minor=told["amount"],
        key=told["key"],
        by=staff(request),
        now=timezone.now(),
    )
    return f"{as_text(told['amount'], currency)} {'is' if new else 'was already'} noted as paid."


@names_act("money.handle")
@never_cache
@require_http_methods(FORM)
@asks_anew
def staff_write_off(request: HttpRequest, code: str) -> HttpResponse:
    """Say what giving up a debt means, ask for the reason, then do it."""
    booking, now = _booking(code), timezone.now()
    if (refusal := against_writing_off(booking, now=now)) is not None:
        messages.error(request, refusal.sentence)
        return redirect("staff_booking", code)
    owed = balance(booking)
    seen = str(owed)
    form, changed = WhyForm(request.POST or None), moved(request, seen)
    if request.method == "POST" and not changed and form.is_valid():
        with telling(request, "The debt is written off, and nobody is asked for it any more."):
            write_off_debt(booking, reason=form.cleaned_data["reason"], seen=seen, by=staff(request), now=now)
        return redirect("staff_booking", code)
    context = {"booking": booking, "form": form, "seen": seen, "changed": changed}
    context["will"] = _what_writing_off_does(as_text(owed, currency_of(booking)))
    status = 409 if changed else 422 if form.errors else 200
    return render(request, "bookings/staff_write_off.html", context, status=status)


def _what_writing_off_does(owed: str) -> str:
    return (
        f"{owed} is written off as lost and asked for no more; the walk’s takings count it as a cost, and the tax on "
        "it stays owed until whoever does your books claims relief. No letter goes out. Money that comes after all "
        "makes it good."
    )


@names_act("money.handle")
@never_cache
@require_http_methods(FORM)
def staff_refund(request: HttpRequest, code: str) -> HttpResponse:
    """What is to be paid back and by which means; note that it was paid."""
    booking = _booking(code)
    if request.POST.get("beyond"):
        promise_back(booking, by=staff(request), now=timezone.now())
        return redirect("staff_refund", code)
    due, currency = refund_due(booking), currency_of(booking)
    shares = shared_by_means(due, means_of(booking))
    first = {"out_of": shares[0][0], "amount": _plain(shares[0][1], currency)} if shares else {}
    form = RefundForm(request.POST or None, initial=first)
    if done(request, form, lambda: _pay(request, booking, form, currency)):
        return redirect("staff_refund", code)
    context = {"booking": booking, "form": form, "due": due, "shares": shares, "currency": currency}
    context["beyond"] = unmatched_of(booking)
    context["taken_back"] = booking.chargebacks.filter(state=Chargeback.State.WAITING)
    return render(request, "bookings/staff_refund.html", context, status=422 if form.errors else 200)


def _pay(request: HttpRequest, booking: Booking, form: RefundForm, currency: str) -> str:
    told = form.cleaned_data
    new = pay_refund(
        booking,
        out_of=told["out_of"],
        amount_minor=told["amount"],
        key=told["key"],
        by=staff(request),
        now=timezone.now(),
    )
    return f"{as_text(told['amount'], currency)} {'is' if new else 'was already'} noted as paid back."
