"""How parties come: cars and dogs, by link; and the limits of one walk, for staff."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from bookings.arrivals import arrivals_of, assistance_dogs
from bookings.bring_forms import ArrivalsForm, BringForm
from bookings.errors import NotBrought
from bookings.lifts import may_share
from bookings.models import Booking, LiftShare
from bookings.queries import is_live
from bookings.services.say_what_comes_along import say_what_comes_along
from bookings.views.by_link import by_link
from foraywright.floor.door import names_act, require
from foraywright.floor.models import Business
from walks.services.set_arrivals import set_arrivals
from walks.views.documents import session_or_404, subject_of
from walks.views.guide import staff

FORM = ["GET", "HEAD", "POST"]


@by_link
@require_http_methods(FORM)
def booking_getting_there(request: HttpRequest, booking: Booking, token: str, now: datetime) -> HttpResponse:
    """What the party brings; sent back, it keeps the cars and dogs."""
    walks = list(booking.offering.walks.select_related("site"))
    form = BringForm(
        request.POST or None,
        rules=[walk.arrivals for walk in walks],
        initial={"cars": booking.cars, "dogs": booking.dogs},
    )
    if request.method == "POST" and form.is_valid():
        try:
            say_what_comes_along(booking, form.brings, by="participant", now=now)
        except NotBrought as refused:
            form.show(refused)
        else:
            messages.success(request, "We have noted what you bring.")
            return redirect("booking_getting_there", token)
    context = {
        "booking": booking,
        "token": token,
        "form": form,
        "live": is_live(booking, now=now),
        "lifts": may_share(booking, now=now) or LiftShare.objects.filter(booking=booking).exists(),
        "days": [(walk, arrivals_of(walk, now=now)) for walk in walks],
        "assistance_dogs": assistance_dogs(Business.objects.get().jurisdiction),
    }
    status = 422 if form.errors else 200
    return render(request, "bookings/getting_there.html", context, status=status)


@names_act("walk.change")
@require_http_methods(FORM)
def staff_arrivals(request: HttpRequest, public_id: str, number: int) -> HttpResponse:
    """Cars, dogs and lifts of one walk, where they differ from its site."""
    walk, now = session_or_404(public_id, number), timezone.now()
    require(request, "walk.change", subject_of(walk))
    own: dict[str, Any] = {"own_car_spaces": walk.own_car_spaces, "own_most_dogs": walk.own_most_dogs}
    own["own_shares_lifts"] = {None: "", True: "yes", False: "no"}[walk.own_shares_lifts]
    form = ArrivalsForm(request.POST or None, initial=own)
    if request.method == "POST" and form.is_valid():
        set_arrivals(walk, **form.cleaned_data, by=staff(request), now=now)
        messages.success(request, "Kept. The risk assessment reads it: look whether it must be signed anew.")
        return redirect("staff_walk", public_id)
    context = {"form": form, "walk": walk, "lines": arrivals_of(walk, now=now)}
    return render(request, "bookings/staff_arrivals.html", context, status=422 if form.errors else 200)
