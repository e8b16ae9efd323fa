"""Who came: the page to tick it after the walk, and the certificates that follow."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from uuid import UUID, uuid4, uuid5

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from bookings.attendance import Attendee, Certificate, attendees, certificates_of, certificates_pdf
from bookings.models import AttendanceMark, Booking
from bookings.services.mark_attendance import Tick, mark_attendance
from bookings.views.by_link import by_link
from foraywright.floor.compute.permissions import Subject
from foraywright.floor.door import names_act, require
from foraywright.floor.pdf import PdfFailed
from foraywright.floor.telling import telling
from walks.models import Offering
from walks.views.documents import pdf_response, session_or_404, subject_of
from walks.views.guide import staff


@names_act("walk.mark_attendance")
@require_http_methods(["GET", "HEAD", "POST"])
def staff_attendance(request: HttpRequest, public_id: str, number: int) -> HttpResponse:
    """Tick who was there, who was not and who left early; what is not touched stays as it stands."""
    walk = session_or_404(public_id, number)
    require(request, "walk.mark_attendance", subject_of(walk))
    now, people = timezone.now(), attendees(walk)
    if request.method == "POST":
        with telling(request, "The attendance is kept."):
            mark_attendance(walk, _ticks(request.POST, people, now=now), by=staff(request), now=now)
        return redirect("staff_attendance", public_id, number)
    states = AttendanceMark.State.choices
    context = {"walk": walk, "people": people, "states": states, "form_key": uuid4()}
    return render(request, "bookings/staff_attendance.html", context)


def _ticks(sent: QueryDict, people: Sequence[Attendee], *, now: datetime) -> list[Tick]:
    """What differs from how it stands. Whoever ticks here has all marks in sight, so theirs settle.

    The event follows from the form and the answer: the same form sent twice is the same marks.
    """
    form = key_of(sent.get("form_key", ""))
    ticks = []
    for one in people:
        person = one.place.person.public_id
        state = sent.get(person, one.standing)
        if state != one.standing and state in AttendanceMark.State.values:
            ticks.append(Tick(uuid5(form, f"{person} {state}"), person, state, now, settles=True))
    return ticks


def key_of(text: str) -> UUID:
    """The random key that a form was issued with; a fresh one where it was not sent back."""
    try:
        return UUID(text)
    except ValueError:
        return uuid4()


@names_act("walk.mark_attendance")
@require_safe
def staff_certificates(request: HttpRequest, public_id: str) -> HttpResponse:
    """The certificates of attendance of everybody who was at the stated share of the sessions."""
    offering = get_object_or_404(Offering, public_id=public_id)
    guides = offering.walks.values_list("guides__public_id", flat=True)
    require(request, "walk.mark_attendance", Subject(guides=frozenset(one for one in guides if one)))
    certificates = certificates_of(offering, now=timezone.now())
    if not certificates:
        messages.warning(request, "There is no certificate to print: the last session is not over or not marked yet.")
        return redirect("staff_walk", public_id)
    return _pdf(request, offering, certificates)


@require_safe
@by_link
def booking_attendance(request: HttpRequest, booking: Booking, token: str, now: datetime) -> HttpResponseBase:
    """The certificates of the people of one booking."""
    certificates = certificates_of(booking.offering, booking=booking, now=now)
    if not certificates:
        raise Http404("There is no certificate of attendance here.")
    return _pdf(request, booking.offering, certificates)


def _pdf(request: HttpRequest, offering: Offering, certificates: Sequence[Certificate]) -> HttpResponse:
    try:
        pdf = certificates_pdf(offering, certificates)
    except PdfFailed:
        return render(request, "bookings/certificates_failed.html", {"offering": offering}, status=503)
    return pdf_response(pdf.content, "certificate-of-attendance.pdf")
