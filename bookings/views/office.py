"""Pages of the office and the guides that show walks with those who come."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from itertools import groupby
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from bookings.arrivals import arrivals_of
from bookings.coming import coming_on
from bookings.dues import dues_of
from bookings.models import Booking, CallersConsent
from bookings.queries import ADULT, balance, balances, coming_back, currency_of, live_bookings, paid, waiting_entries
from bookings.register import room_on_the_day
from bookings.services.call_off_walk import ToldOf, call_off_walk, told_of
from bookings.services.cancel_booking import against_cancelling, cancel_booking, settlement
from bookings.services.write_off_debt import against_writing_off
from bookings.today import kinds_of_need
from bookings.walk_ups import over_limits
from curriculum.compute.account import Account
from curriculum.compute.half_months import half_month
from curriculum.compute.phenology import season_curve
from curriculum.queries import AccountInUse, accounts_in_use, species_slugs, vocabulary
from foraywright.floor.asking import asks_anew, moved
from foraywright.floor.compute.money import as_text
from foraywright.floor.compute.permissions import Subject, may
from foraywright.floor.door import actor_of, may_open, names_act, require
from foraywright.floor.models import AuditLine, Business
from foraywright.floor.sorted_list import Column, sorted_list
from foraywright.floor.telling import telling
from walks.assessment_state import state_of
from walks.finds import noted_before
from walks.forms import CallOffForm
from walks.guides import lost_cover
from walks.models import Offering, Walk
from walks.queries import expectation_of, light_at, slug_of, walk_limits, with_everything
from walks.services.call_off import against_calling_off
from walks.site_routes import does_not_fit, route_facts
from walks.views.guide import staff

WALK_COLUMNS = (
    Column("When", ("starts_at",)),
    Column("What", ("offering__title", "starts_at")),
    Column("Where", ("site__name", "starts_at")),
    Column("Guides"),
    Column("State", ("offering__state", "starts_at")),
    Column("Coming", ("places_taken_shown", "starts_at"), number=True),
)


@names_act("staff.front_page")
@require_safe
def staff_today(request: HttpRequest) -> HttpResponse:
    """What needs a person today, and the walks of the next two weeks."""
    now = timezone.now()
    soon = Walk.objects.filter(ends_at__gt=now, starts_at__lt=now + timedelta(days=14))
    walks = with_everything(soon) if may_open(request, reverse("staff_walks")) else []
    context = {"kinds": kinds_of_need(actor_of(request), now=now), "rows": [_row(walk) for walk in walks]}
    return render(request, "bookings/staff_today.html", context)


@names_act("walk.see")
@require_safe
def staff_walks(request: HttpRequest) -> HttpResponse:
    """All walks, those to come first."""
    now = timezone.now()
    past = request.GET.get("past") == "1"
    walks = with_everything(Walk.objects.filter(ends_at__lte=now) if past else Walk.objects.filter(ends_at__gt=now))
    found = sorted_list(request, walks, WALK_COLUMNS, first="-when" if past else "when")
    context = {"page": found.page, "heads": found.heads, "rows": [_row(walk) for walk in found.page], "past": past}
    return render(request, "bookings/staff_walks.html", context)


def _row(walk: Walk) -> dict[str, Any]:
    return {"walk": walk, "offering": walk.offering, "start": walk.local_start}


@names_act("walk.see")
@require_safe
def staff_walk(request: HttpRequest, public_id: str) -> HttpResponse:
    """One walk or course with everything that follows from it, and who comes."""
    now = timezone.now()
    offering = get_object_or_404(Offering.objects.select_related("theme", "prices"), public_id=public_id)
    accounts = accounts_in_use()
    walks = list(with_everything(offering.walks.all()))
    theirs, owed, lost = _is_theirs(request, walks), balances(offering), lost_cover(walks)
    bookings = live_bookings(offering, now=now) if theirs else []
    slugs = species_slugs()
    context = {
        "offering": offering,
        "slug": slug_of(public_id),
        "sessions": [_session(walk, accounts, slugs, now=now) | {"lost": lost[walk.pk]} for walk in walks],
        "is_theirs": theirs,
        "bookings": [_booking_row(one, owed.get(one.pk, 0)) for one in bookings],
        "waiting": waiting_entries(offering) if theirs else [],
        "over_limits": over_limits(offering),
        "is_over": all(walk.ends_at <= now for walk in walks),
        "history": AuditLine.objects.filter(object_id=public_id).order_by("at"),
    }
    return render(request, "bookings/staff_walk.html", context)


def _is_theirs(request: HttpRequest, walks: Iterable[Walk]) -> bool:
    """Whether who comes is this actor's business: what may print the register may read the names here."""
    guides = frozenset(one.guide.public_id for walk in walks for one in walk.walk_guides.all())
    return not may(actor_of(request), "walk.print_register", Subject(guides=guides))


def _session(walk: Walk, accounts: dict[str, AccountInUse], slugs: dict[str, str], *, now: datetime) -> dict[str, Any]:
    limits = walk_limits(walk)
    light = light_at(walk.site, walk.local_date)
    expected = expectation_of(walk, accounts, lists=noted_before(walk))
    return {
        "walk": walk,
        "start": walk.local_start,
        "end": walk.local_end,
        "light": light,
        "route": route_facts(walk.site),
        "does_not_fit": does_not_fit(walk.site, walk.minutes),
        "statement": room_on_the_day(walk, at=now, now=now, limits=limits).statement,
        "arrivals": arrivals_of(walk, now=now),
        "mark": half_month(walk.local_date),
        "expected": [_species(accounts[one.account.taxon], slugs) for one in expected.taught],
        "not_now": [one.vernacular() for one in expected.not_now],
        "dangers": _by_word(expected.dangers),
        "ratio_source": limits.policy.source,
        "state": state_of(walk, accounts, coming_on(walk, now=now)),
    }


def _by_word(dangers: Iterable[Account]) -> list[tuple[str, list[str]]]:
    """The dangers under their words, in the order given (deadly first)."""
    edibility = vocabulary().terms["edibility"]
    grouped = groupby(dangers, key=lambda one: edibility[one.edibility].label)
    return [(word, [one.vernacular() for one in accounts]) for word, accounts in grouped]


def _species(one: AccountInUse, slugs: dict[str, str]) -> dict[str, Any]:
    account = one.account
    return {
        "name": account.vernacular(),
        "scientific": account.accepted_name,
        "slug": slugs[one.taxon.public_id],
        "tier": vocabulary().label("tier", account.tier) if account.tier else "",
        "half_months": season_curve(account.season),
    }


def _booking_row(booking: Booking, owed: int) -> dict[str, Any]:
    people = list(booking.party.people.all())
    children = [one.band for one in people if one.band != ADULT]
    return {"booking": booking, "people": people, "children": children, "owed": owed}


@names_act("walk.call_off")
@require_http_methods(["GET", "HEAD", "POST"])
@asks_anew
def staff_call_off(request: HttpRequest, public_id: str) -> HttpResponse:
    """Ask for the reason and say what will happen; then call the walk off."""
    now = timezone.now()
    offering = get_object_or_404(Offering, public_id=public_id)
    guides = offering.walks.values_list("guides__public_id", flat=True)
    require(request, "walk.call_off", Subject(guides=frozenset(one for one in guides if one)))
    if (refusal := against_calling_off(offering, now=now)) is not None:
        messages.error(request, refusal.sentence)
        return redirect("staff_walk", public_id)
    told = told_of(offering)
    form, changed = CallOffForm(request.POST or None), moved(request, told.mark)
    if request.method == "POST" and not changed and form.is_valid():
        with telling(request, "The walk is called off. Letters to everybody who booked are on their way."):
            call_off_walk(offering, why=form.cleaned_data["why"], seen=told.mark, by=staff(request), now=now)
        return redirect("staff_walk", public_id)
    context = {"offering": offering, "form": form, "seen": told.mark, "changed": changed}
    context["will"] = _what_calling_off_does(offering, told)
    status = 409 if changed else 422 if form.errors else 200
    return render(request, "bookings/staff_call_off.html", context, status=status)


def _what_calling_off_does(offering: Offering, of: ToldOf) -> str:
    told, parties, money = "Nobody has booked, so nobody need be told.", of.parties, of.money
    if parties:
        currency = Business.objects.values_list("currency", flat=True).get()
        words = "1 party" if parties == 1 else f"{parties} parties"
        told = f"{words} will be told by letter, and {as_text(money, currency)} that they paid is to be paid back."
    elif offering.private:
        told = "Nobody has booked; a group whose quote could still be accepted will be told by letter."
    if offering.private:
        return f"{told} In the group’s own calendar the walk stays as called off."
    return f"{told} The walk stays on the programme and in the calendar as called off."


@names_act("booking.see")
@require_safe
def staff_booking(request: HttpRequest, code: str) -> HttpResponse:
    """One booking: who comes, what is owed, which letters went out."""
    booking = get_object_or_404(Booking.objects.select_related("party__contact", "offering"), code=code)
    transfers = list(booking.transfers.select_related("debit", "credit").order_by("at", "pk"))
    context = {
        "booking": booking,
        "people": booking.party.people.select_related("guardian"),
        "lines": booking.lines.all(),
        "transfers": transfers,
        "at_meeting_point": any(one.debit.key == "cash" for one in transfers),
        "card_payments": booking.card_payments.order_by("pk"),
        "letters": booking.messages.select_related("paper").order_by("written_at"),
        "consent": CallersConsent.objects.filter(booking=booking).select_related("heard_by").first(),
        "quotes": list(booking.quotes.select_related("enquiry").order_by("made_at")),
        "owed": balance(booking),
        "may_write_off": against_writing_off(booking, now=timezone.now()) is None,
        "dues": dues_of(booking),
        "paid": paid(booking),
        "coming_back": coming_back(booking),
        "history": AuditLine.objects.filter(object_id=booking.public_id).order_by("at"),
    }
    return render(request, "bookings/staff_booking.html", context)


@names_act("booking.cancel")
@require_http_methods(["GET", "HEAD", "POST"])
@asks_anew
def staff_cancel(request: HttpRequest, code: str) -> HttpResponse:
    """Say what cancelling means for the money, then cancel."""
    now = timezone.now()
    booking = get_object_or_404(Booking.objects.select_related("party__contact", "offering"), code=code)
    if (refusal := against_cancelling(booking, now=now)) is not None:
        messages.error(request, refusal.sentence)
        return redirect("staff_booking", code)
    terms = settlement(booking, ours=False, now=now)
    changed = moved(request, terms.mark)
    if request.method == "POST" and not changed:
        with telling(request, "The booking is cancelled. A letter is on its way."):
            cancel_booking(booking, seen=terms.mark, by=staff(request), now=now)
        return redirect("staff_booking", code)
    context = {"booking": booking, "terms": terms, "currency": currency_of(booking), "changed": changed}
    context["will"] = f"The places go back on sale and {booking.party.contact.name} is told by letter."
    return render(request, "bookings/staff_cancel.html", context, status=409 if changed else 200)
