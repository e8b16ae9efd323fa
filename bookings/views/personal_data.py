"""For a person who asks: everything that is kept of them, and its erasing."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from bookings.models import Booking
from bookings.person_export import export_of, in_lines, may_be_handed
from bookings.retention import RULES, health_kept_until, law, names_until
from bookings.seen import party_mark
from bookings.services.erase import against_erasing, erase_party
from bookings.views.by_link import kept_from_others
from bookings.views.files import as_file
from foraywright.floor.asking import asks_anew, moved
from foraywright.floor.door import names_act
from foraywright.floor.telling import telling
from walks.views.guide import staff


def _booking(code: str) -> Booking:
    return get_object_or_404(Booking.objects.select_related("party__contact", "offering"), code=code)


@names_act("personal_data.handle")
@require_safe
def staff_personal_data(request: HttpRequest, code: str) -> HttpResponse:
    """What is kept of a booking's people and until when, with the ways to hand it out and to erase it."""
    booking = _booking(code)
    context = {
        "booking": booking,
        "people": booking.party.people.select_related("guardian").order_by("pk"),
        "health_until": health_kept_until(booking),
        "names_until": names_until(booking, law()),
        "kept_longer": booking.kept_longer.select_related("by"),
        "rules": RULES,
        "law": law(),
    }
    return render(request, "bookings/staff_personal_data.html", context)


@names_act("personal_data.handle")
@require_POST
def staff_export(request: HttpRequest, code: str) -> HttpResponseBase:
    """What is kept of those who ask, as a file or a page. A button and no link: opening it is a look."""
    booking, booked = _booking(code), "booked" in request.POST
    people = list(may_be_handed(booking).filter(public_id__in=request.POST.getlist("people")))
    if not (people or booked):
        messages.error(request, "Nothing was opened. Say who asks: each is given their own alone.")
        return redirect("staff_personal_data", code)
    found = export_of(booking, people, booked=booked, by=staff(request), now=timezone.now())
    if request.POST.get("form") == "page":
        context = {"sections": in_lines(found), "booking": booking}
        return kept_from_others(render(request, "bookings/staff_export.html", context))
    return as_file(found, f"personal-data-{code}")


@names_act("personal_data.handle")
@require_http_methods(["GET", "HEAD", "POST"])
@asks_anew
def staff_erase(request: HttpRequest, code: str) -> HttpResponse:
    """Say who and what goes and what must stay, then erase."""
    booking, reason = _booking(code), request.POST.get("reason", "").strip()[:200]
    seen = party_mark(booking)
    changed, unsaid = moved(request, seen), request.method == "POST" and not reason
    if request.method == "POST" and not (changed or unsaid):
        with telling(request, "Erased. What the books must show of money stays, without a name."):
            erase_party(booking, reason=reason, seen=seen, by=staff(request), now=timezone.now())
        return redirect("staff_booking", code)
    context = {"booking": booking, "names_until": names_until(booking, law()), "people": booking.party.people.all()}
    context |= {"unsaid": unsaid, "seen": seen, "changed": changed, "reason": reason}
    context["against"] = against_erasing(booking, now=timezone.now())
    return render(request, "bookings/staff_erase.html", context, status=409 if changed else 422 if unsaid else 200)
