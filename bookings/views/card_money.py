"""Pages of the office on what is paid by card: with the provider, passed on, charged, taken back by card holders."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from bookings.card_forms import ChargebackForm, OutcomeForm, PayoutForm, SettleChargebackForm
from bookings.card_provider import why_no_cards
from bookings.models import Booking, CardPayment, CardPayout, Chargeback, Voucher
from bookings.money_forms import trading_currency
from bookings.queries import currency_of, standing_in
from bookings.services.note_card_payout import note_card_payout
from bookings.services.note_chargeback import left_of_meeting_point, left_of_payment, note_chargeback
from bookings.services.receive_card_notice import say_card_outcome
from bookings.services.settle_chargeback import follows_for, settle_chargeback
from foraywright.floor.compute.money import as_text, in_major
from foraywright.floor.door import names_act
from foraywright.floor.sorted_list import Column, sorted_list
from walks.views.guide import staff
from walks.views.sites import FORM, done, form_page

RECENT = 40
PAYOUTS = (
    Column("Noted", ("noted_at",)),
    Column("What for", ("reason", "noted_at")),
    Column("Passed on", ("passed_on_minor", "noted_at"), number=True),
    Column("Fee", ("fee_minor", "noted_at"), number=True),
)


@names_act("money.handle")
@never_cache
@require_http_methods(FORM)
def staff_cards(request: HttpRequest) -> HttpResponse:
    """What stands with the provider, what waits for a person, payouts and fees."""
    form = PayoutForm(request.POST or None)
    if done(request, form, lambda: _note_payout(request, form)):
        return redirect("staff_cards")
    payouts = sorted_list(request, CardPayout.objects.all(), PAYOUTS, first="-noted")
    chargebacks = Chargeback.objects.select_related("booking", "voucher")
    context = {
        "why_no_cards": why_no_cards(),
        "with_provider": standing_in("card"),
        "currency": trading_currency(),
        "waiting": chargebacks.filter(state=Chargeback.State.WAITING),
        "settled": chargebacks.exclude(state=Chargeback.State.WAITING).order_by("-settled_at")[:RECENT],
        "page": payouts.page,
        "heads": payouts.heads,
    }
    return form_page(request, "bookings/staff_cards.html", form, **context)


def _note_payout(request: HttpRequest, form: PayoutForm) -> str:
    told = form.cleaned_data
    payout = note_card_payout(
        passed_on_minor=told["passed_on"],
        fee_minor=told["fee"],
        shared=told["shared"],
        reason=told["reason"],
        key=told["key"],
        by=staff(request),
        now=timezone.now(),
    )
    if payout.fee_minor and told["shared"] and not payout.is_shared:
        return "Noted. No card payment is without its fee, so this one is a cost of the season."
    return "Noted."


@names_act("money.handle")
@never_cache
@require_http_methods(FORM)
def staff_card_payment(request: HttpRequest, token: str) -> HttpResponse:
    """One payment by card, what the provider told of it, and what the office tells: that its holder took it back."""
    payment = get_object_or_404(CardPayment.objects.select_related("booking", "order", "voucher"), token=token)
    if payment.is_open():
        return _open_payment(request, payment)
    left, paid_for = left_of_payment(payment), payment.booking or payment.voucher
    form = ChargebackForm(request.POST or None, initial={"amount": f"{in_major(left, payment.currency):f}"})
    if paid_for is not None and done(request, form, lambda: _note_chargeback(request, paid_for, payment, form)):
        return redirect("staff_cards")
    context = {"payment": payment, "left": left, "notices": payment.notices.order_by("at", "pk")}
    context["chargebacks"] = payment.chargebacks.all()
    return form_page(request, "bookings/staff_card_payment.html", form, **context)


def _open_payment(request: HttpRequest, payment: CardPayment) -> HttpResponse:
    form = OutcomeForm(request.POST or None)
    if done(request, form, lambda: _say_outcome(request, payment, form)):
        return redirect("staff_card_payment", payment.token)
    notices = payment.notices.order_by("at", "pk")
    return form_page(request, "bookings/staff_card_payment.html", form, payment=payment, notices=notices, silent=True)


def _say_outcome(request: HttpRequest, payment: CardPayment, form: OutcomeForm) -> str:
    is_paid = form.cleaned_data["outcome"] == "paid"
    say_card_outcome(payment, is_paid=is_paid, by=staff(request), now=timezone.now())
    return "Noted as paid." if is_paid else "Noted as not paid."


@names_act("money.handle")
@never_cache
@require_http_methods(FORM)
def staff_meeting_point_chargeback(request: HttpRequest, code: str) -> HttpResponse:
    """Note that the holder of a card which was taken at the meeting point took the payment back."""
    booking = get_object_or_404(Booking.objects.select_related("offering__prices"), code=code)
    return _meeting_point(request, booking, currency_of(booking))


@names_act("money.handle")
@never_cache
@require_http_methods(FORM)
def staff_voucher_chargeback(request: HttpRequest, public_id: str) -> HttpResponse:
    """The same of a voucher that was sold where we meet."""
    voucher = get_object_or_404(Voucher, public_id=public_id)
    return _meeting_point(request, voucher, voucher.currency)


def _meeting_point(request: HttpRequest, paid_for: Booking | Voucher, currency: str) -> HttpResponse:
    left = left_of_meeting_point(paid_for)
    form = ChargebackForm(request.POST or None, initial={"amount": f"{in_major(left, currency):f}"})
    if done(request, form, lambda: _note_chargeback(request, paid_for, None, form)):
        return redirect("staff_cards")
    taken_back = paid_for.chargebacks.filter(payment=None)
    context = {"paid_for": paid_for, "left": left, "currency": currency, "chargebacks": taken_back}
    return form_page(request, "bookings/staff_meeting_point_chargeback.html", form, **context)


def _note_chargeback(
    request: HttpRequest, paid_for: Booking | Voucher, payment: CardPayment | None, form: ChargebackForm
) -> str:
    told, by = form.cleaned_data, staff(request)
    noted = note_chargeback(paid_for, payment, amount_minor=told["amount"], key=told["key"], by=by, now=timezone.now())
    return f"{as_text(noted.amount_minor, noted.currency)} is noted as taken back. Say next what follows."


@names_act("money.handle")
@never_cache
@require_http_methods(FORM)
def staff_chargeback(request: HttpRequest, public_id: str) -> HttpResponse:
    """One chargeback, and what follows from it."""
    known = Chargeback.objects.select_related("booking", "voucher", "payment", "settled_by")
    chargeback = get_object_or_404(known, public_id=public_id)
    form = SettleChargebackForm(request.POST or None, follows=follows_for(chargeback))
    if done(request, form, lambda: _settle(request, chargeback, form)):
        return redirect("staff_cards")
    waits = chargeback.state == Chargeback.State.WAITING
    return form_page(request, "bookings/staff_chargeback.html", form, chargeback=chargeback, waits=waits)


def _settle(request: HttpRequest, chargeback: Chargeback, form: SettleChargebackForm) -> str:
    told = form.cleaned_data
    settle_chargeback(
        chargeback,
        state=told["state"],
        reason=told["reason"],
        fee_minor=told["fee"],
        by=staff(request),
        now=timezone.now(),
    )
    return f"Settled: {Chargeback.State(told['state']).label.lower()}."
