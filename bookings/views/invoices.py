"""Invoices and receipts: made at the press of a button, by the booking's link or by the office, and served as PDF."""

from __future__ import annotations

from datetime import datetime

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from bookings.errors import NotInvoiced
from bookings.invoices import invoice_pdf
from bookings.models import Booking, Invoice
from bookings.money_forms import InvoiceForm
from bookings.services.issue_invoice import issue_invoice, issue_receipt
from bookings.views.by_link import by_link, by_link_with
from foraywright.floor.acts import By
from foraywright.floor.door import names_act
from foraywright.floor.pdf import PdfFailed
from walks.views.documents import pdf_response
from walks.views.guide import staff

FORM = ("GET", "HEAD", "POST")


@by_link
@require_http_methods(FORM)
def booking_invoices(request: HttpRequest, booking: Booking, token: str, now: datetime) -> HttpResponse:
    """The numbered papers of a booking; make an invoice or a receipt."""
    return _page(request, booking, reverse("booking_page", args=[token]), by="participant", now=now)


@require_safe
@by_link_with
def booking_invoice(
    request: HttpRequest, booking: Booking, token: str, now: datetime, public_id: str
) -> HttpResponseBase:
    """One of them as PDF."""
    return _pdf(request, booking, public_id)


@names_act("booking.see")
@never_cache
@require_http_methods(FORM)
def staff_invoices(request: HttpRequest, code: str) -> HttpResponse:
    """The same for the office."""
    booking = _booking(code)
    return _page(request, booking, reverse("staff_booking", args=[code]), by=staff(request), now=timezone.now())


@names_act("booking.see")
@never_cache
@require_safe
def staff_invoice(request: HttpRequest, code: str, public_id: str) -> HttpResponseBase:
    """One of them as PDF."""
    return _pdf(request, _booking(code), public_id)


def _booking(code: str) -> Booking:
    return get_object_or_404(Booking.objects.select_related("party__contact", "offering"), code=code)


def _page(request: HttpRequest, booking: Booking, back: str, *, by: By, now: datetime) -> HttpResponse:
    form = InvoiceForm(request.POST or None, initial={"buyer": _buyer(booking)})
    if request.method == "POST" and form.is_valid():
        _make(request, booking, form, by=by, now=now)
        return redirect(request.path)
    context = {"booking": booking, "form": form, "back": back, "papers": booking.invoices.all(), "here": request.path}
    return render(request, "bookings/invoices.html", context, status=422 if form.errors else 200)


def _buyer(booking: Booking) -> str:
    """As it was printed last, else as the booking has it; a group before whoever books for it."""
    last = booking.invoices.exclude(buyer="").last()
    if last:
        return last.buyer
    contact, quote = booking.party.contact, booking.quotes.select_related("enquiry").first()
    group = quote.enquiry.group if quote else ""
    return "\n".join(filter(None, (group, contact.name, contact.address)))


def _make(request: HttpRequest, booking: Booking, form: InvoiceForm, *, by: By, now: datetime) -> None:
    make = issue_receipt if "receipt" in request.POST else issue_invoice
    try:
        issued = make(booking, buyer=form.cleaned_data["buyer"], by=by, now=now)
    except NotInvoiced as refused:
        messages.error(request, refused.sentence)
    else:
        messages.success(request, f"{issued.title} is ready.")


def _pdf(request: HttpRequest, booking: Booking, public_id: str) -> HttpResponse:
    invoice = get_object_or_404(Invoice.objects.select_related("booking"), booking=booking, public_id=public_id)
    try:
        pdf = invoice_pdf(invoice)
    except PdfFailed:
        return render(request, "bookings/invoice_failed.html", {"invoice": invoice}, status=503)
    return pdf_response(pdf.content, f"{invoice.kind.replace('_', '-')}-{invoice.number}.pdf")
