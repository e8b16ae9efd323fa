"""Vouchers: sold by the office and where we meet, used and printed on a booking's page."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from bookings.compute.references import creditor_reference, in_groups
from bookings.models import Booking, CardPayment, Voucher
from bookings.queries import awaiting_choice, currency_of
from bookings.services.choose_after_call_off import choose_voucher
from bookings.services.count_attempt import count_attempt
from bookings.services.issue_voucher import issue_voucher
from bookings.services.pay_by_voucher import pay_by_voucher
from bookings.services.pay_voucher_back import pay_voucher_back, why_not_paid_back
from bookings.views.asking_why import ask_with_a_form
from bookings.views.by_link import by_link, by_link_with
from bookings.views.limits import LOOK_UPS, address_of
from bookings.voucher_forms import GuideVoucherForm, SellVoucherForm, UseVoucherForm, VoucherRefundForm
from bookings.voucher_print import voucher_pdf
from bookings.vouchers import left_on
from foraywright.floor.asking import Question, asks_anew, asks_once
from foraywright.floor.compute.money import as_text
from foraywright.floor.door import may_open, names_act
from foraywright.floor.pdf import PdfFailed
from foraywright.floor.refusals import Refusal
from foraywright.floor.sorted_list import Column, sorted_list
from foraywright.floor.telling import telling
from walks.views.documents import pdf_response
from walks.views.guide import staff
from walks.views.sites import FORM, form_page

COLUMNS = (
    Column("Sold", ("issued_at",)),
    Column("Worth", ("value_minor", "issued_at"), number=True),
    Column("Good until", ("valid_to", "issued_at")),
    Column("How"),
)


@names_act("voucher.sell")
@never_cache
@require_http_methods(FORM)
def staff_vouchers(request: HttpRequest) -> HttpResponse:
    """Sell a voucher; the office sees those that were sold last."""
    is_office = may_open(request, reverse("staff_money"))
    form = (SellVoucherForm if is_office else GuideVoucherForm)(request.POST or None)
    if request.method == "POST" and form.is_valid() and (sold := _sold(request, form)):
        return redirect("staff_voucher", sold.public_id)
    shown = Voucher.objects.all() if is_office else Voucher.objects.none()
    rows = sorted_list(request, shown, COLUMNS, first="-sold")
    return form_page(request, "bookings/staff_vouchers.html", form, page=rows.page, heads=rows.heads)


def _sold(request: HttpRequest, form: SellVoucherForm) -> Voucher | None:
    told = form.cleaned_data
    try:
        return issue_voucher(
            value_minor=told["value"], into=told["into"], key=told["key"], by=staff(request), now=timezone.now()
        )
    except Refusal as refused:
        form.show(refused)
        return None


@names_act("voucher.sell")
@never_cache
@require_safe
def staff_voucher(request: HttpRequest, public_id: str) -> HttpResponse:
    """One voucher: its code, what is left on it, what it paid."""
    voucher = get_object_or_404(Voucher.objects.select_related("order"), public_id=public_id)
    moves = voucher.transfers.select_related("booking", "debit", "credit").order_by("at", "pk")
    left = left_on(voucher)
    context: dict[str, Any] = {"voucher": voucher, "left": left, "moves": moves}
    if voucher.order is not None:
        context["reference"] = in_groups(creditor_reference(voucher.order.code))
    if may_open(request, reverse("staff_money")):
        context["card_payment"] = CardPayment.objects.filter(voucher=voucher).first()
        context["chargebacks"] = voucher.chargebacks.all()
        context["at_meeting_point"] = any(one.debit.key == "cash" for one in moves)
        context["can_be_paid_back"] = not why_not_paid_back(voucher, left)
    return render(request, "bookings/staff_voucher.html", context)


@names_act("money.handle")
@never_cache
@require_http_methods(FORM)
def staff_voucher_refund(request: HttpRequest, public_id: str) -> HttpResponse:
    """Note that what is left on a voucher was paid back to whoever bought it."""
    voucher = get_object_or_404(Voucher, public_id=public_id)
    left = left_on(voucher)
    if why := why_not_paid_back(voucher, left):
        messages.error(request, f"Nothing can be paid back of this voucher. {why}")
        return redirect("staff_voucher", public_id)
    question = Question(
        "Pay this voucher back?",
        f"{as_text(left, voucher.currency)} are left on it and go back to whoever bought it; its code then pays for "
        "nothing more, and tax that was owed on them is owed no more. Pay first, at your bank or by hand.",
        "It has been paid",
        reverse("staff_voucher", args=[public_id]),
    )

    def pay(told: dict[str, Any]) -> str:
        paid = pay_voucher_back(voucher, **told, seen=left, by=staff(request), now=timezone.now())
        return f"{as_text(paid, voucher.currency)} are noted as paid back."

    return ask_with_a_form(request, question, VoucherRefundForm(request.POST or None), pay)


@names_act("voucher.sell")
@never_cache
@require_safe
def staff_voucher_pdf(request: HttpRequest, public_id: str) -> HttpResponseBase:
    """The voucher on paper."""
    voucher = get_object_or_404(Voucher, public_id=public_id)
    return _on_paper(request, voucher, lambda: redirect("staff_voucher", public_id))


def _on_paper(request: HttpRequest, voucher: Voucher, otherwise: Callable[[], HttpResponse]) -> HttpResponseBase:
    try:
        pdf = voucher_pdf(voucher)
    except PdfFailed:
        messages.error(request, "The voucher could not be set as a PDF. Its code is good all the same.")
        return otherwise()
    return pdf_response(pdf.content, "voucher.pdf")


@by_link
@require_POST
def booking_pay_by_voucher(request: HttpRequest, booking: Booking, token: str, now: datetime) -> HttpResponse:
    """Pay with a voucher, as far as it reaches. Wrong codes are counted, so that nobody guesses them."""
    form = UseVoucherForm(request.POST)
    if not form.is_valid():
        messages.error(request, " ".join(map(str, form.errors["voucher"])))
        return redirect("booking_page", token)
    try:
        count_attempt("use voucher", address_of(request), most=LOOK_UPS, now=now)
        amount = pay_by_voucher(booking, form.cleaned_data["voucher"], by="participant", now=now)
    except Refusal as refused:
        messages.error(request, refused.sentence)
    else:
        messages.success(request, f"The voucher paid {as_text(amount, currency_of(booking))}.")
    return redirect("booking_page", token)


@by_link
@require_POST
@asks_anew
def booking_choose_voucher(request: HttpRequest, booking: Booking, token: str, now: datetime) -> HttpResponse:
    """A voucher for what waits for the choice, after we called the walk off."""
    waits = awaiting_choice(booking)
    amount = as_text(waits, currency_of(booking))
    will = f"You get a voucher for {amount}, and not the money. Whoever has its code can use it."
    back = reverse("booking_page", args=[token])
    if page := asks_once(request, Question("Take a voucher?", will, "A voucher for all of it", back)):
        return page
    with telling(request, "Your voucher stands on this page. Keep its code."):
        choose_voucher(booking, seen=str(waits), by="participant", now=now)
    return redirect("booking_page", token)


@by_link_with
@require_safe
def booking_voucher(
    request: HttpRequest, booking: Booking, token: str, now: datetime, public_id: str
) -> HttpResponseBase:
    """The voucher that the party chose, on paper."""
    voucher = booking.vouchers.filter(public_id=public_id).first()
    if voucher is None:
        raise Http404
    return _on_paper(request, voucher, lambda: redirect("booking_page", token))
