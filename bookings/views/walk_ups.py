"""Who comes to the meeting point without a booking, with signal; without it see register_copies.py."""

from __future__ import annotations

from uuid import uuid4

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from bookings.declaration_forms import TakenDownForm
from bookings.errors import NotBooked
from bookings.ground_rules import rules_in_force
from bookings.models import WalkUp
from bookings.queries import balance, people_on
from bookings.register import register_of
from bookings.services.add_walk_up import add_walk_up
from bookings.services.declare import declare
from bookings.services.settle_walk_up import settle_walk_up
from bookings.views.by_link import kept_from_others
from bookings.views.public import show_refusal
from bookings.walk_up_forms import WalkUpForm
from bookings.walk_ups import walk_ups_of
from foraywright.floor.compute.money import as_text
from foraywright.floor.door import actor_of, names_act, require
from foraywright.floor.telling import telling
from walks.queries import ratio_policy
from walks.views.documents import session_or_404, subject_of
from walks.views.guide import staff


@names_act("walk_up.add")
@require_http_methods(["GET", "HEAD", "POST"])
def staff_walk_ups(request: HttpRequest, public_id: str, number: int) -> HttpResponseBase:
    """Take a party on at the meeting point, against the limits; and who was taken on so. Afterwards: as on paper."""
    walk, now = session_or_404(public_id, number), timezone.now()
    require(request, "walk_up.add", subject_of(walk))
    is_over = now > walk.ends_at
    at = walk.starts_at if is_over else now
    bands = ratio_policy(walk.offering.ratios).bands
    form = WalkUpForm(
        request.POST or None, offering=walk.offering, bands=bands, initial={"adults": "1", "key": uuid4()}
    )
    if request.method == "POST" and form.is_valid():
        try:
            added = add_walk_up(walk, form.came(at=at), by=staff(request), now=now)
        except NotBooked as refused:
            show_refusal(form, refused)
        else:
            messages.success(request, _said(added))
            return redirect("staff_day_register", public_id, number)
    context = {"walk": walk, "start": walk.local_start, "form": form, "is_over": is_over}
    context["register"] = register_of(walk)
    context["walk_ups"] = walk_ups_of(walk)
    page = render(request, "bookings/staff_walk_ups.html", context, status=422 if form.errors else 200)
    return kept_from_others(page)


def _said(added: WalkUp) -> str:
    booking = added.booking
    owed = as_text(balance(booking), booking.lines.earliest("pk").currency)
    paid = f"{owed} to pay by transfer" if added.pays == WalkUp.Pays.LATER else "paid in full"
    people = booking.party.people.count()
    return f"Added and marked as here: {people} {'person' if people == 1 else 'people'}, {paid}. Count the heads."


@names_act("walk_up.settle")
@require_POST
def staff_walk_up_settle(request: HttpRequest, public_id: str) -> HttpResponse:
    """Say what follows from a party that came against a limit."""
    found = get_object_or_404(WalkUp.objects.select_related("walk__offering"), public_id=public_id)
    with telling(request, "Kept, with your name. What was broken stays written beside it."):
        settle_walk_up(found, request.POST.get("answer", ""), by=staff(request), now=timezone.now())
    return redirect("staff_walk_ups", found.walk.offering.public_id, found.walk.number)


@names_act("declaration.take")
@require_http_methods(["GET", "HEAD", "POST"])
def staff_declare(request: HttpRequest, public_id: str, number: int, person: str) -> HttpResponseBase:
    """Write down what somebody tells where we meet. Only with signal, and only of who has not been heard yet."""
    walk, now = session_or_404(public_id, number), timezone.now()
    require(request, "declaration.take", subject_of(walk))
    whose = next((one for one in people_on(walk, now=now) if one.public_id == person), None)
    if whose is None:
        raise Http404("Nobody of that kind comes to this walk.")
    if hasattr(whose, "declaration"):
        messages.error(request, "They have declared already. What changed they say by their own link, or tell you.")
        return redirect("staff_day_register", public_id, number)
    form = TakenDownForm(request.POST or None, person=whose, office="office" in actor_of(request).roles)
    if request.method == "POST" and form.is_valid():
        with telling(request, "Kept, sealed. It is not shown here again; each look at it is written down."):
            declare(whose, form.answers(), said_by=form.said_by(), rules=rules_in_force(), by=staff(request), now=now)
        return redirect("staff_day_register", public_id, number)
    context = {"walk": walk, "start": walk.local_start, "person": whose, "form": form}
    return kept_from_others(render(request, "bookings/staff_declare.html", context, status=422 if form.errors else 200))
