"""Reads of bookings that more than one page needs."""

from __future__ import annotations

from datetime import datetime

from django.db.models import Case, F, Q, QuerySet, Sum, When

from bookings.compute.prices import PriceList, price_list_from
from bookings.models import Booking, Person, Place, Transfer
from walks.compute.head_count import PartyAges
from walks.compute.head_count import Person as PersonAge
from walks.compute.ratios import RatioStatement, ratio_statement
from walks.models import Offering, Walk, WalkChange
from walks.queries import WalkLimits, walk_limits

ADULT = "adult"
ADULT_AGE = 18


def live(now: datetime) -> Q:
    """What counts against a walk's limits: confirmed, or held and the hold not yet over."""
    return Q(state=Booking.State.CONFIRMED) | Q(state=Booking.State.HELD, held_until__gt=now)


def live_bookings(offering: Offering, *, now: datetime) -> QuerySet[Booking]:
    """The live bookings of an offering with party and people: two queries."""
    bookings = Booking.objects.filter(live(now), offering=offering).select_related("party__contact")
    return bookings.prefetch_related("party__people").order_by("booked_at", "pk")


def parties_on(walk: Walk, *, now: datetime) -> list[PartyAges]:
    """The ages of everybody with a live place on `walk`, party by party. One query."""
    of_live_bookings = Q(booking__state=Booking.State.CONFIRMED) | Q(
        booking__state=Booking.State.HELD, booking__held_until__gt=now
    )
    places = Place.objects.filter(of_live_bookings, walk=walk, given_back_at=None)
    by_party: dict[int, list[Person]] = {}
    for place in places.select_related("person").order_by("person__party_id", "person_id"):
        by_party.setdefault(place.person.party_id, []).append(place.person)
    return [ages_of(people) for people in by_party.values()]


def people_on(walk: Walk, *, now: datetime) -> list[Person]:
    """Everybody with a live place on `walk`, party by party, with booking, guardian and declaration. One query."""
    of_live_bookings = Q(booking__state=Booking.State.CONFIRMED) | Q(
        booking__state=Booking.State.HELD, booking__held_until__gt=now
    )
    places = Place.objects.filter(of_live_bookings, walk=walk, given_back_at=None)
    places = places.select_related("person__party__booking", "person__guardian", "person__declaration")
    return [one.person for one in places.order_by("person__party_id", "person_id")]


def ages_of(people: list[Person]) -> PartyAges:
    """The party as the ratios count it: a band counts with its youngest age, a guardian is a place in the same list."""
    order = {person.pk: number for number, person in enumerate(people)}
    return PartyAges(
        tuple(PersonAge(one.youngest_age, order.get(one.guardian_id) if one.guardian_id else None) for one in people)
    )


def statement_of(walk: Walk, *, now: datetime, limits: WalkLimits | None = None) -> RatioStatement:
    """The ratio statement of `walk` with everybody who has a live place. One query, and those of its limits."""
    limits = limits or walk_limits(walk)
    return ratio_statement(limits.policy, limits.caps, limits.staff, parties_on(walk, now=now))


def changes_since(booking: Booking) -> list[WalkChange]:
    """What we changed of the booked walks since they were booked. One query."""
    return list(WalkChange.objects.filter(walk__offering=booking.offering_id, at__gt=booking.booked_at))


def may_leave_free(booking: Booking) -> bool:
    """Whether we changed something material since the booking: whoever leaves then gets everything back. One query."""
    return any(one.material for one in changes_since(booking))


def prices_of(offering: Offering) -> PriceList:
    """The price list that the offering sells under. No query where the policy is selected."""
    return price_list_from(offering.prices.body)


def balance(booking: Booking) -> int:
    """Minor units that the booking still owes (negative: we owe them): a sum over its ledger transfers. One query."""
    towards = Case(When(debit__key="receivable", then=F("amount_minor")), default=0)
    away = Case(When(credit__key="receivable", then=F("amount_minor")), default=0)
    sums = Transfer.objects.filter(booking=booking).aggregate(owed=Sum(towards), met=Sum(away))
    return (sums["owed"] or 0) - (sums["met"] or 0)


def balances(offering: Offering) -> dict[int, int]:
    """What each booking of the offering still owes, by its key; none for a booking without transfers. One query."""
    signed = Case(
        When(debit__key="receivable", then=F("amount_minor")),
        When(credit__key="receivable", then=-F("amount_minor")),
        default=0,
    )
    transfers = Transfer.objects.filter(booking__offering=offering)
    return dict(transfers.values_list("booking").annotate(owed=Sum(signed)))


def paid(booking: Booking) -> int:
    """Minor units received for the booking, refunds taken off. One query."""
    money = ("bank", "cash")
    inward = Case(When(debit__key__in=money, then=F("amount_minor")), default=0)
    outward = Case(When(credit__key__in=money, then=F("amount_minor")), default=0)
    sums = Transfer.objects.filter(booking=booking).aggregate(inward=Sum(inward), outward=Sum(outward))
    return (sums["inward"] or 0) - (sums["outward"] or 0)


def coming_back(booking: Booking) -> int:
    """Minor units that were promised back and are not paid out yet. One query."""
    promised = Case(When(credit__key="refunds_due", then=F("amount_minor")), default=0)
    settled = Case(When(debit__key="refunds_due", then=F("amount_minor")), default=0)
    sums = Transfer.objects.filter(booking=booking).aggregate(promised=Sum(promised), settled=Sum(settled))
    return (sums["promised"] or 0) - (sums["settled"] or 0)
