"""A voucher ordered from outside, and the page where its code stands once it is paid. No name is asked."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial, wraps

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from bookings.card_provider import takes_cards
from bookings.compute.references import creditor_reference, in_groups
from bookings.models import VoucherOrder
from bookings.paying import transfer_code
from bookings.services.count_attempt import count_attempt
from bookings.services.issue_voucher import VALID
from bookings.services.order_voucher import order_voucher
from bookings.services.start_card_payment import start_voucher_payment
from bookings.views.by_link import kept_from_others, refused_link
from bookings.views.cards import ORDERED_HERE, to_the_card
from bookings.views.limits import address_of, with_retry_after
from bookings.voucher_forms import OrderVoucherForm
from bookings.voucher_print import voucher_pdf
from bookings.vouchers import is_disputed, left_on
from foraywright.floor.door import names_act
from foraywright.floor.links import follow_link, make_link
from foraywright.floor.models import Business
from foraywright.floor.pdf import PdfFailed
from foraywright.floor.refusals import Refusal
from walks.views.documents import pdf_response
from walks.views.sites import FORM, form_page

ORDERS = 6
"""Within an hour from one address (our rule)."""

OrderView = Callable[[HttpRequest, VoucherOrder, str], HttpResponseBase]


@names_act("booking.make")
@require_http_methods(FORM)
def give_voucher(request: HttpRequest) -> HttpResponse:
    """How much the voucher is to be worth; then its own page says how it is paid. 404 before there is a business."""
    get_object_or_404(Business)
    form, now = OrderVoucherForm(request.POST or None), timezone.now()
    if not form.is_valid():
        return form_page(request, "bookings/give_voucher.html", form, takes_cards=takes_cards())
    try:
        count_attempt("order voucher", address_of(request), most=ORDERS, now=now)
        told = form.cleaned_data
        order = order_voucher(told["value"], key=told["key"], by="participant", now=now)
    except Refusal as refused:
        form.show(refused)
        return with_retry_after(
            form_page(request, "bookings/give_voucher.html", form, takes_cards=takes_cards()), refused
        )
    return redirect("voucher_order", make_link("voucher", order.public_id, expires_at=now + VALID, now=now))


def by_order(view: OrderView) -> Callable[..., HttpResponseBase]:
    """Call `view` with (request, order, token); a forged token is answered with 404, an old one with 410."""

    @names_act("booking.by_link")
    @wraps(view)
    def opened(request: HttpRequest, token: str) -> HttpResponseBase:
        state, public_id = follow_link("voucher", token, now=timezone.now()) or ("unknown", "")
        order = VoucherOrder.objects.filter(public_id=public_id).first()
        if state != "live" or order is None:
            return refused_link(request, state)
        return kept_from_others(view(request, order, token))

    return opened


@by_order
@require_safe
def voucher_order(request: HttpRequest, order: VoucherOrder, token: str) -> HttpResponse:
    """How to pay what was ordered; once it is paid, the voucher's code."""
    reference = in_groups(creditor_reference(order.code))
    context = {
        "order": order,
        "token": token,
        "issued": [(one, left_on(one), is_disputed(one)) for one in order.vouchers.order_by("pk")],
        "reference": reference,
        "transfer_code": transfer_code(order.currency, order.value_minor, reference),
        "takes_cards": takes_cards(),
    }
    return render(request, "bookings/voucher_order.html", context)


@by_order
@require_POST
def voucher_order_card(request: HttpRequest, order: VoucherOrder, token: str) -> HttpResponse:
    """Go to the card provider's page; the session remembers this page, so that the way back leads here."""
    begin = partial(start_voucher_payment, order, by="participant", now=timezone.now())
    to = to_the_card(request, begin)
    if to is None:
        return redirect("voucher_order", token)
    request.session[ORDERED_HERE] = token
    return to


@by_order
@require_safe
def voucher_order_pdf(request: HttpRequest, order: VoucherOrder, token: str) -> HttpResponseBase:
    """The voucher on paper, the newest where there are several; 404 before it is paid."""
    voucher = order.vouchers.order_by("-pk").first()
    if voucher is None:
        raise Http404
    try:
        return pdf_response(voucher_pdf(voucher).content, "voucher.pdf")
    except PdfFailed:
        messages.error(request, "The voucher could not be set as a PDF. Its code is good all the same.")
        return redirect("voucher_order", token)
