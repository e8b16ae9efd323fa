"""The booklet behind a booking's link, and the register for those who lead the walk."""

from __future__ import annotations

from datetime import datetime

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from bookings.documents import register_pdf
from bookings.models import Booking
from bookings.views.by_link import by_link
from foraywright.floor.door import names_act, require
from foraywright.floor.pdf import PdfFailed
from walks.documents import session_now, want_booklet
from walks.views.documents import document_answer, pdf_response, session_or_404, subject_of, variant_of

HAVE_A_HANDOUT = (Booking.State.CONFIRMED, Booking.State.HELD)


@require_safe
@by_link
def booking_handout(request: HttpRequest, booking: Booking, token: str, now: datetime) -> HttpResponseBase:
    """The booklet of the booked walk, on the day after it as well: people cook what they remember."""
    if booking.state not in HAVE_A_HANDOUT:
        return render(request, "bookings/no_handout.html", {"token": token}, status=410)
    return document_answer(
        request, want_booklet(session_now(booking.offering, now), now, variant_of(request)), "handout"
    )


@names_act("walk.print_register")
@require_safe
def staff_register(request: HttpRequest, public_id: str, number: int) -> HttpResponse:
    """The register as of this moment; set within the request, since personal data is not kept as a file."""
    walk = session_or_404(public_id, number)
    require(request, "walk.print_register", subject_of(walk))
    try:
        pdf = register_pdf(walk, timezone.now())
    except PdfFailed:
        return render(request, "bookings/register_failed.html", {"walk": walk}, status=503)
    return pdf_response(pdf.content, f"register-{walk.local_date}.pdf")
