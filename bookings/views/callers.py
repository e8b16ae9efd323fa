"""Bookings that the office takes for callers, and the letters that go by post."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from bookings.caller_forms import CallerForm
from bookings.errors import NotBooked, NotJoined
from bookings.forms import first_values
from bookings.letters_still_true import no_longer_true
from bookings.models import PaperLetter
from bookings.paper_letters import paper_pdf
from bookings.services.book_places import book_places
from bookings.services.join_waiting_list import join_waiting_list
from bookings.services.settle_letter import settle_letter
from bookings.shown import walk_page_of
from bookings.views.prices import shown_price, spend_voucher, voucher_left
from bookings.views.public import show_refusal
from foraywright.floor.door import names_act
from foraywright.floor.pdf import PdfFailed
from foraywright.floor.telling import telling
from walks.queries import public_offerings, ratio_policy
from walks.views.documents import pdf_response
from walks.views.guide import staff

NOT_SET = "The letter could not be set as a PDF. Try again, or ring the party."


@names_act("booking.change")
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def staff_book(request: HttpRequest, public_id: str) -> HttpResponse:
    """Book for a caller, by the same act and against the same limits as on the public page."""
    now = timezone.now()
    offering = public_offerings().filter(public_id=public_id).first()
    if offering is None:
        raise Http404
    bands = ratio_policy(offering.ratios).bands
    form = CallerForm(request.POST or None, offering=offering, bands=bands, initial=first_values(bands, {}))
    quote = shown_price(request, form, now=now) if "price" in request.POST else None
    if "price" not in request.POST and form.is_valid() and (code := _sold(request, form)):
        return redirect("staff_booking", code)
    context = {"form": form, "page": walk_page_of(offering, now=now), "offering": offering, "quote": quote}
    return render(request, "bookings/staff_book.html", context, status=_status(form))


def _status(form: CallerForm) -> int:
    if not form.errors:
        return 200
    return 409 if form.cleaned_data.get("key") and "__all__" in form.errors else 422


def _sold(request: HttpRequest, form: CallerForm) -> str:
    """The code of the booking; empty where it was refused, which the form then says."""
    sale = join_waiting_list if "wait" in request.POST else book_places
    now = timezone.now()
    if voucher_left(request, form, now=now) <= 0 and form.errors:
        return ""
    try:
        booking = sale(form.order(), by=staff(request), now=now)
    except (NotBooked, NotJoined) as refused:
        show_refusal(form, refused)
        return ""
    if sale is book_places and booking.booked_at == now:
        spend_voucher(request, form, booking, by=staff(request), now=now)
    messages.success(request, "Noted. A letter is on its way, or waits to be posted.")
    return booking.code


@names_act("booking.see")
@require_safe
def staff_post(request: HttpRequest) -> HttpResponse:
    """Letters to people without e-mail: to be printed, posted, and marked."""
    now = timezone.now()
    waiting = PaperLetter.objects.select_related("message__contact", "message__booking").order_by("laid_out_at")
    rows = [(one, no_longer_true(one.message, now=now)) for one in waiting.filter(settled_at=None)]
    settled = waiting.exclude(settled_at=None).order_by("-settled_at")[:20]
    return render(request, "bookings/staff_post.html", {"rows": rows, "settled": settled})


@names_act("booking.see")
@require_safe
def staff_letter(request: HttpRequest, public_id: str) -> HttpResponse:
    """One letter as a PDF, as of this moment; it is never stored."""
    letter = _letter(public_id)
    try:
        pdf = paper_pdf(letter.message, now=timezone.now())
    except PdfFailed:
        messages.error(request, NOT_SET)
        return redirect("staff_post")
    return pdf_response(pdf.content, f"letter-{public_id}.pdf")


@names_act("booking.see")
@require_POST
def staff_letter_settle(request: HttpRequest, public_id: str) -> HttpResponse:
    """Mark a letter as posted, or set aside what is no longer true."""
    letter = _letter(public_id)
    with telling(request, "The letter is off the list."):
        settle_letter(letter, posted="aside" not in request.POST, by=staff(request), now=timezone.now())
    return redirect("staff_post")


def _letter(public_id: str) -> PaperLetter:
    letters = PaperLetter.objects.select_related("message__contact", "message__booking__offering")
    return get_object_or_404(letters, message__public_id=public_id)
