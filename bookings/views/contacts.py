"""The office changes whom it writes to, of a booking or of a group that asked."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from bookings.contact_forms import AskerForm, ContactForm
from bookings.errors import NotChanged
from bookings.models import Booking, GroupEnquiry
from bookings.seen import asker_mark, contact_mark
from bookings.services.change_contact import change_asker, change_contact
from foraywright.floor.asking import asks_anew, moved
from foraywright.floor.compute.short_codes import spoken
from foraywright.floor.door import names_act
from walks.views.guide import staff

FORM = ["GET", "HEAD", "POST"]
FIELDS = ("name", "email", "phone", "address")
OF_A_BOOKING = (
    "Every link that was sent before stops working, those that people of the party were given for themselves too. "
    "A letter with a new link goes to the new address at once, and all later letters go there. The old e-mail "
    "address is told that letters no longer come, and nothing of the new one."
)
OF_A_GROUP = (
    "The links of quotes that were sent before stop working. A quote that can still be accepted is sent to the new "
    "address at once. The old address is told that letters no longer come, and nothing of the new one."
)


@names_act("booking.change")
@require_http_methods(FORM)
@asks_anew
def staff_contact(request: HttpRequest, code: str) -> HttpResponse:
    """Another contact of a booking."""
    booking = get_object_or_404(Booking.objects.select_related("party__contact", "offering"), code=code)
    contact, back = booking.party.contact, reverse("staff_booking", args=[code])
    seen = contact_mark(contact)
    about = f"{contact.name} · {contact.email or contact.address} · booking {spoken(code)}, {booking.offering.title}"
    form = ContactForm(request.POST or None, initial={name: getattr(contact, name) for name in FIELDS})

    def change() -> None:
        change_contact(booking, form.contact(), seen=seen, by=staff(request), now=timezone.now())

    return _asked(request, form, change, will=OF_A_BOOKING, about=about, back=back, seen=seen)


@names_act("booking.change")
@require_http_methods(FORM)
@asks_anew
def staff_group_contact(request: HttpRequest, public_id: str) -> HttpResponse:
    """Another person who asks for a group."""
    enquiry = get_object_or_404(GroupEnquiry, public_id=public_id)
    back = reverse("staff_group", args=[public_id])
    seen = asker_mark(enquiry)
    about = f"{enquiry.name} · {enquiry.email} · {enquiry.group}"
    form = AskerForm(request.POST or None, initial={name: getattr(enquiry, name) for name in FIELDS[:3]})

    def change() -> None:
        change_asker(enquiry, form.contact(), seen=seen, by=staff(request), now=timezone.now())

    return _asked(request, form, change, will=OF_A_GROUP, about=about, back=back, seen=seen)


def _asked(request: HttpRequest, form: AskerForm, change: Callable[[], None], **shown: str) -> HttpResponse:
    """Ask once. `shown`: will, about, back, and as `seen` the mark of who is the contact now."""
    changed = moved(request, shown["seen"])
    if request.method == "POST" and not changed and form.is_valid():
        try:
            change()
        except NotChanged as refused:
            form.show(refused)
        else:
            return redirect(shown["back"])
    context: dict[str, Any] = {"form": form, "changed": changed, **shown}
    status = 409 if changed else 422 if form.is_bound and form.errors else 200
    return render(request, "bookings/staff_contact.html", context, status=status)
