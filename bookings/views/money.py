"""Pages of the office on money: bank statements, what waits for a person, refunds to pay."""

from __future__ import annotations

from django.db.models import BigIntegerField, Case, F, When
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from bookings.models import BankLine
from bookings.money_forms import BankLineForm, StatementForm
from bookings.queries import standing_to
from bookings.services.match_bank_line import keep_card_payout, match_bank_line, return_bank_line, write_off_bank_line
from bookings.services.order_voucher import issue_for_line
from bookings.services.take_in_statement import take_in_and_match
from bookings.vouchers import order_paid_by
from foraywright.floor.compute.short_codes import spoken
from foraywright.floor.door import names_act
from foraywright.floor.sorted_list import Column, sorted_list
from walks.views.guide import staff
from walks.views.sites import FORM, done

RECENT = 40
COLUMNS = (
    Column("Booked", ("booked_on",)),
    Column("What was written", ("text", "booked_on")),
    Column("From", ("payer", "booked_on")),
    Column("Amount", ("signed",), number=True),
)


@names_act("money.handle")
@never_cache
@require_http_methods(FORM)
def staff_money(request: HttpRequest) -> HttpResponse:
    """Take in a bank statement; what waits for a person; refunds to pay; the newest lines that were settled."""
    form = StatementForm(request.POST or None, request.FILES or None)
    if done(request, form, lambda: _take_in(request, form)):
        return redirect("staff_money")
    signed = Case(
        When(came_in=True, then=F("amount_minor")), default=-F("amount_minor"), output_field=BigIntegerField()
    )
    lines = BankLine.objects.filter(state=BankLine.State.WAITING).annotate(signed=signed)
    waiting = sorted_list(request, lines, COLUMNS, first="booked")
    settled = BankLine.objects.exclude(state=BankLine.State.WAITING).select_related("booking")
    context = {
        "form": form,
        "page": waiting.page,
        "heads": waiting.heads,
        "refunds": standing_to("refunds_due"),
        "beyond": standing_to("unmatched"),
        "settled": settled.order_by("-booked_on", "-pk")[:RECENT],
    }
    return render(request, "bookings/staff_money.html", context, status=422 if form.errors else 200)


def _take_in(request: HttpRequest, form: StatementForm) -> str:
    content = form.cleaned_data["statement"].read()
    new, matched = take_in_and_match(content, by=staff(request), now=timezone.now())
    if not new:
        return f"Every line of this statement was known already; {matched} found their booking now."
    return f"Lines taken in: {new}. Payments that found their booking: {matched}."


@names_act("money.handle")
@never_cache
@require_http_methods(FORM)
def staff_bank_line(request: HttpRequest, public_id: str) -> HttpResponse:
    """One line of a statement, and what it is."""
    line = get_object_or_404(BankLine.objects.select_related("booking"), public_id=public_id)
    form = BankLineForm(request.POST or None, line=line)
    if done(request, form, lambda: _settle(request, line, form)):
        return redirect("staff_money")
    context = {"line": line, "form": form, "waits": line.state == BankLine.State.WAITING}
    return render(request, "bookings/staff_bank_line.html", context, status=422 if form.errors else 200)


def _settle(request: HttpRequest, line: BankLine, form: BankLineForm) -> str:
    by, now, told = staff(request), timezone.now(), form.cleaned_data
    if told["what"] == form.MATCH:
        match_bank_line(line, told["booking"], by=by, now=now)
        return f"The line belongs to booking {spoken(told['booking'].code)} now."
    order = order_paid_by(line)
    if told["what"] == form.VOUCHER and order is not None:
        issue_for_line(line, order, by=by, now=now)
        return "The voucher is issued; its code stands on the page of whoever ordered it."
    if told["what"] == form.RETURN:
        return_bank_line(line, reason=told["reason"], by=by, now=now)
        return "The line is settled: the money was sent back."
    if told["what"] == form.PAYOUT:
        keep_card_payout(line, fee_minor=told["fee"], reason=told["reason"], by=by, now=now)
        return "The line is settled: it is money that was paid by card."
    write_off_bank_line(line, reason=told["reason"], by=by, now=now)
    return "The line is settled: it is written off."
