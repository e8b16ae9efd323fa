"""What people declare: taken by link and never shown back; looked at by the guides of the walk and the office."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from bookings.declaration_forms import AccessAnswerForm, AccessForm, DeclarationForm
from bookings.errors import NotAnswered, NotShown
from bookings.ground_rules import rules_in_force
from bookings.models import AccessNeed, Booking, Look, Person
from bookings.queries import ADULT, people_on
from bookings.services.access_needs import answer_access, ask_for_access
from bookings.services.booking_link import OPEN_AFTER_THE_LAST_WALK
from bookings.services.declare import LIVE, declare
from bookings.services.look_at_declarations import look_at_access_needs, look_at_declaration
from bookings.views.by_link import by_link, by_link_with, kept_from_others, refused_link
from foraywright.floor.compute.permissions import Subject
from foraywright.floor.door import actor_of, names_act, require
from foraywright.floor.links import follow_link, make_link
from foraywright.floor.telling import telling
from walks.models import Walk
from walks.views.guide import staff

A_PAGE = 50


@by_link
@require_http_methods(["GET", "HEAD", "POST"])
def booking_declarations(request: HttpRequest, booking: Booking, token: str, now: datetime) -> HttpResponse:
    """Who of the party has been heard; sent back, it asks for access."""
    form = AccessForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        ask_for_access(booking, form.cleaned_data["need"], by="participant", now=now)
        messages.success(request, "Kept. A person of ours answers you on this page, and a letter tells you so.")
        return redirect("booking_declarations", token)
    people = booking.party.people.select_related("declaration", "guardian").order_by("pk")
    needs = booking.access_needs.select_related("answered_by").order_by("asked_at")
    context = {
        "booking": booking,
        "people": people,
        "form": form,
        "needs": needs,
        "token": token,
        "live": booking.state in LIVE,
    }
    return render(request, "bookings/declarations.html", context, status=422 if form.errors else 200)


@by_link_with
@require_http_methods(["GET", "HEAD", "POST"])
def booking_declare(request: HttpRequest, booking: Booking, token: str, now: datetime, public_id: str) -> HttpResponse:
    """Take the declaration of one person of the party, from whoever booked."""
    person = get_object_or_404(booking.party.people, public_id=public_id)
    return _declare(request, person, own=False, back=reverse("booking_declarations", args=[token]), now=now)


@by_link_with
@require_POST
def booking_own_link(request: HttpRequest, booking: Booking, token: str, now: datetime, public_id: str) -> HttpResponse:
    """Make a link by which one adult of the party can declare for themselves; it is shown this once."""
    person = get_object_or_404(booking.party.people, public_id=public_id, band=ADULT)
    last = booking.offering.walks.latest("ends_at")
    link = make_link("declaration", person.public_id, expires_at=last.ends_at + OPEN_AFTER_THE_LAST_WALK, now=now)
    address = request.build_absolute_uri(reverse("declare", args=[link]))
    context = {"person": person, "address": address, "token": token}
    return render(request, "bookings/own_link.html", context)


@names_act("booking.by_link")
@require_http_methods(["GET", "HEAD", "POST"])
def declare_by_own_link(request: HttpRequest, token: str, public_id: str = "") -> HttpResponseBase:
    """Take the declaration of the holder of the link, or of a child in their charge."""
    now = timezone.now()
    found = follow_link("declaration", token, now=now)
    person = Person.objects.filter(public_id=found[1]).first() if found else None
    if found is None or found[0] != "live" or person is None:
        return kept_from_others(refused_link(request, "unknown" if found is None else found[0]))
    whose = get_object_or_404(person.wards, public_id=public_id) if public_id else person
    back = reverse("declare", args=[token])
    return kept_from_others(_declare(request, whose, own=True, back=back, now=now, holder=person, token=token))


def _declare(
    request: HttpRequest,
    person: Person,
    *,
    own: bool,
    back: str,
    now: datetime,
    holder: Person | None = None,
    token: str = "",
) -> HttpResponse:
    form = DeclarationForm(request.POST or None, person=person, own=own)
    if request.method == "POST" and form.is_valid():
        with telling(request, "Kept, sealed. Only the guides of the walk and our office can open it."):
            declare(person, form.answers(), said_by=form.said_by(), rules=rules_in_force(), by="participant", now=now)
        return redirect(back)
    context = {"person": person, "form": form, "back": back, "holder": holder, "token": token}
    context["given"] = getattr(person, "declaration", None)
    return render(request, "bookings/declare.html", context, status=422 if form.errors else 200)


def _walk_for(request: HttpRequest, public_id: str, number: int) -> Walk:
    """The session, where the actor is of the office or guides it."""
    walk = get_object_or_404(
        Walk.objects.select_related("offering", "site"), offering__public_id=public_id, number=number
    )
    guides = frozenset(walk.guides.values_list("public_id", flat=True))
    require(request, "declaration.see", Subject(guides=guides))
    return walk


@names_act("declaration.see")
@require_safe
def staff_declarations(request: HttpRequest, public_id: str, number: int) -> HttpResponseBase:
    """Who of those who come has been heard, without what they said."""
    now = timezone.now()
    walk = _walk_for(request, public_id, number)
    people = people_on(walk, now=now)
    heard = sum(hasattr(one, "declaration") for one in people)
    context = {"walk": walk, "start": walk.local_start, "people": people, "heard": heard}
    context["asked_for_access"] = _asked_for_access(people)
    return kept_from_others(render(request, "bookings/staff_declarations.html", context))


@names_act("declaration.see")
@require_safe
def staff_declaration(request: HttpRequest, public_id: str, number: int, person: str) -> HttpResponseBase:
    """What one person declared. The look is written down."""
    now = timezone.now()
    walk = _walk_for(request, public_id, number)
    whose = next((one for one in people_on(walk, now=now) if one.public_id == person), None)
    if whose is None:
        raise Http404("Nobody of that kind comes to this walk.")
    office = "office" in actor_of(request).roles
    try:
        found = look_at_declaration(whose, walk, by=staff(request), office=office, now=now)
    except NotShown as refused:
        messages.error(request, refused.sentence)
        return redirect("staff_declarations", public_id, number)
    context = {"walk": walk, "start": walk.local_start, "person": whose, "declared": found}
    return kept_from_others(render(request, "bookings/staff_declaration.html", context))


@names_act("declaration.see")
@require_safe
def staff_party_access(request: HttpRequest, public_id: str, number: int, code: str) -> HttpResponseBase:
    """What one party of the walk needs to be able to come, and how it was answered. The look is written down."""
    now = timezone.now()
    walk = _walk_for(request, public_id, number)
    booking = next((one for one in _asked_for_access(people_on(walk, now=now)) if one.code == code), None)
    if booking is None:
        raise Http404("No party of that kind comes to this walk.")
    guides_it = None if "office" in actor_of(request).roles else walk
    try:
        needs = look_at_access_needs(booking, by=staff(request), now=now, walk=guides_it)
    except NotShown as refused:
        messages.error(request, refused.sentence)
        return redirect("staff_declarations", public_id, number)
    context = {"walk": walk, "start": walk.local_start, "booking": booking, "needs": needs}
    return kept_from_others(render(request, "bookings/staff_party_access.html", context))


def _asked_for_access(people: Iterable[Person]) -> list[Booking]:
    """The bookings of `people` with a need of access. One query."""
    parties = {one.party_id for one in people}
    return list(Booking.objects.filter(party__in=parties, access_needs__isnull=False).distinct().order_by("booked_at"))


@names_act("access.answer")
@require_safe
def staff_access_needs(request: HttpRequest) -> HttpResponse:
    """The needs that nobody has answered, and those answered in the last weeks, by booking; not what they say."""
    since = timezone.now() - timedelta(days=60)
    needs = AccessNeed.objects.select_related("booking__offering", "answered_by").order_by("asked_at")
    context = {"open": needs.filter(answered_at=None), "answered": needs.filter(answered_at__gt=since)}
    return render(request, "bookings/staff_access_needs.html", context)


@names_act("access.answer")
@require_http_methods(["GET", "HEAD", "POST"])
def staff_access_need(request: HttpRequest, public_id: str) -> HttpResponseBase:
    """One booking's needs in its words, and the answer to one of them. The look is written down."""
    now = timezone.now()
    need = get_object_or_404(AccessNeed.objects.select_related("booking__offering"), public_id=public_id)
    form = AccessAnswerForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            answer_access(need, form.cleaned_data["answer"], by=staff(request), now=now)
        except NotAnswered as refused:
            messages.error(request, refused.sentence)
        else:
            messages.success(request, "Answered. A letter tells the party to read it on its page.")
            return redirect("staff_access_needs")
    needs = look_at_access_needs(need.booking, by=staff(request), now=now)
    context = {"need": next(one for one in needs if one.pk == need.pk), "booking": need.booking, "form": form}
    page = render(request, "bookings/staff_access_need.html", context, status=422 if form.errors else 200)
    return kept_from_others(page)


@names_act("looks.see")
@require_safe
def staff_looks(request: HttpRequest) -> HttpResponse:
    """Who looked at what people declared, newest first."""
    looks = Look.objects.select_related("who").order_by("-at", "-pk")
    page = Paginator(looks, A_PAGE).get_page(request.GET.get("page"))
    codes = _codes(list(page.object_list))
    rows = [(look, codes.get(look.person_id_of, "")) for look in page.object_list]
    return render(request, "bookings/staff_looks.html", {"page": page, "rows": rows})


def _codes(looks: list[Look]) -> dict[str, str]:
    """The codes of the bookings that were looked into, by public id; the erased are not in it. Two queries."""
    ids = {one.person_id_of for one in looks}
    found = Person.objects.filter(public_id__in=ids).values_list("public_id", "party__booking__code")
    bookings = Booking.objects.filter(public_id__in=ids).values_list("public_id", "code")
    return dict(found) | dict(bookings)
