"""Names of a large party from a list: take ours, fill it in, bring it back, look at it, keep it."""

from __future__ import annotations

from datetime import datetime

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from bookings.compute.name_list import blank_list, read_name_list
from bookings.compute.spreadsheet import inert
from bookings.forms import NamesForm, person_label
from bookings.models import Booking, Person
from bookings.queries import people_of
from bookings.services.name_people import OPEN
from bookings.views.by_link import by_link

LARGEST = 30 * 1024


class NameListForm(forms.Form):
    """The filled-in list."""

    names = forms.FileField(label="The filled-in list", error_messages={"required": "Choose the file."})

    def clean_names(self) -> bytes:
        """The content, of a size that a list of names has."""
        file = self.cleaned_data["names"]
        if file.size > LARGEST:
            raise forms.ValidationError(f"The file has more than {LARGEST // 1024} kB: that is no list of names.")
        return bytes(file.read())


@by_link
@require_http_methods(["GET", "HEAD", "POST"])
def booking_names(request: HttpRequest, booking: Booking, token: str, now: datetime) -> HttpResponse:
    """Take the list in and show the names in their fields; nothing is kept before somebody has looked."""
    if booking.state not in OPEN:
        return redirect("booking_page", token)
    people = people_of(booking)
    sent, names = request.method == "POST", None
    form = NameListForm(request.POST if sent else None, request.FILES if sent else None)
    if form.is_valid():
        found = read_name_list(form.cleaned_data["names"], [person_label(one, booking.offering) for one in people])
        for fault in found.faults:
            form.add_error("names", fault)
        names = None if found.faults else _filled(booking, people, found.names)
    context = {"booking": booking, "token": token, "form": form, "names": names, "people": people}
    return render(request, "bookings/names.html", context, status=422 if form.errors else 200)


def _filled(booking: Booking, people: list[Person], names: object) -> NamesForm:
    written = {people[place].public_id: name for place, name in dict(names).items()}  # type: ignore[call-overload]
    return NamesForm(booking=booking, people=people, initial=written)


@by_link
@require_safe
def booking_names_list(request: HttpRequest, booking: Booking, token: str, now: datetime) -> HttpResponse:
    """Our list, a line a person."""
    people = people_of(booking)
    ages = [person_label(one, booking.offering) for one in people]
    content = blank_list(ages, [inert(one.name) for one in people])
    answer = HttpResponse(content.encode("utf-8-sig"), content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = 'attachment; filename="names.csv"'
    return answer
