"""Sell places: the one function that does."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from bookings.compute.prices import PriceList
from bookings.errors import NotBooked
from bookings.models import Booking, BookingLine, Contact, OutboxMessage, Party, Person, Place, Transfer
from bookings.queries import ADULT, ADULT_AGE, parties_on, prices_of
from bookings.services.ledger import transfer
from bookings.services.outbox import write_to
from foraywright.floor.acts import By, act, record
from foraywright.floor.compute.short_codes import new_short_code
from walks.compute.age_bands import RatioPolicy
from walks.compute.head_count import PartyAges
from walks.compute.head_count import Person as PersonAge
from walks.compute.ratios import can_take
from walks.models import Offering, Walk
from walks.queries import ratio_policy, walk_limits, with_everything
from walks.services.show_places_taken import show_places_taken

MOST_IN_A_PARTY = 30
DAYS_TO_PAY = 7
DAYS_BEFORE_THE_WALK = 3


@dataclass(frozen=True, slots=True)
class Order:
    """What a party asks for. `bands` has one entry a person ("adult" or a band of the ratio policy), adults first.

    `names` go to the people in the same order. `guardian`: an adult of the party is in charge of its children.
    `key` is the random key that the form was issued with.
    """

    offering: Offering
    name: str
    email: str
    phone: str
    bands: tuple[str, ...]
    guardian: bool
    key: str
    names: tuple[str, ...] = ()


@act
def book_places(order: Order, *, by: By, now: datetime) -> Booking:
    """Take the places and return the booking; the same key again returns the booking it made. Raises NotBooked.

    The offering is locked first, then its walks: two parties after the last place would otherwise both get it.
    """
    offering = Offering.objects.select_for_update().get(pk=order.offering.pk)
    list(Walk.objects.select_for_update().filter(offering=offering).order_by("pk"))
    before = Booking.objects.filter(idempotency_key=order.key).first()
    if before is not None:
        return before
    walks = list(with_everything(offering.walks.filter(ends_at__gt=now)))
    _refuse_at_the_door(order, offering, walks, now=now)
    people = _people(order, ratio_policy(offering.ratios))
    _refuse_what_does_not_fit(_ages(people, order), walks, now=now)
    return _sell(order, offering, walks, people, by=by, now=now)


def _refuse_at_the_door(order: Order, offering: Offering, walks: Sequence[Walk], *, now: datetime) -> None:
    reasons = list(_door_reasons(order, offering, walks, now=now))
    if reasons:
        raise NotBooked("Not booked.", why=reasons, became="Nothing is owed and no place was taken.")


def _door_reasons(order: Order, offering: Offering, walks: Sequence[Walk], *, now: datetime) -> Iterator[str]:
    if offering.state == Offering.State.CALLED_OFF:
        yield "This walk has been called off."
    elif offering.state != Offering.State.PUBLISHED:
        yield "This walk is not open for booking."
    elif not walks or min(walk.starts_at for walk in offering.walks.all()) <= now:
        yield "This walk has begun or is over."
    if not order.bands:
        yield "A party needs at least one person. Say how many are coming."
    if len(order.bands) > MOST_IN_A_PARTY:
        yield f"You asked for {len(order.bands)} places; a party has at most {MOST_IN_A_PARTY}. Write to us for more."


def _people(order: Order, policy: RatioPolicy) -> list[Person]:
    """The party's people, not yet saved, adults first."""
    youngest = {band.key: band.from_age for band in policy.bands} | {ADULT: ADULT_AGE}
    strange = set(order.bands) - set(youngest)
    if strange:
        raise NotBooked("Not booked.", why=[f"“{sorted(strange)[0]}” is no age band."], became="Nothing is owed.")
    named = zip(order.bands, [*order.names, *[""] * len(order.bands)], strict=False)
    people = [Person(band=band, youngest_age=youngest[band], name=name) for band, name in named]
    return sorted(people, key=lambda one: one.band != ADULT)


def _has_guardian(people: Sequence[Person], order: Order) -> bool:
    """Whether the first of the party, an adult, is in charge of its children."""
    return order.guardian and people[0].band == ADULT


def _ages(people: Sequence[Person], order: Order) -> PartyAges:
    """The party as the ratios count it, before anybody is saved."""
    in_charge = 0 if _has_guardian(people, order) else None
    return PartyAges(tuple(PersonAge(one.youngest_age, None if one.band == ADULT else in_charge) for one in people))


def _refuse_what_does_not_fit(party: PartyAges, walks: Sequence[Walk], *, now: datetime) -> None:
    for walk in walks:
        limits = walk_limits(walk)
        coming = parties_on(walk, now=now)
        decision = can_take(limits.policy, limits.caps, limits.staff, coming, party)
        if not decision.allowed:
            raise NotBooked(
                f"Not booked: there is no room for your party of {len(party.people)} on {_day(walk.local_date)}.",
                why=decision.reasons,
                became="Nothing is owed and no place was taken.",
                now=_advice(decision.would_fit),
                would_fit=decision.would_fit,
            )


def _advice(would_fit: int) -> str:
    if would_fit == 0:
        return "Choose another walk, or ask us."
    return f"{would_fit} of your party would fit: book for {would_fit}, or choose another walk."


def _sell(
    order: Order, offering: Offering, walks: Sequence[Walk], people: list[Person], *, by: By, now: datetime
) -> Booking:
    contact = Contact.objects.create(name=order.name, email=order.email, phone=order.phone, created_at=now)
    party = Party.objects.create(contact=contact, created_at=now)
    _save_people(party, people, guardian=_has_guardian(people, order))
    booking = Booking.objects.create(
        code=new_short_code(),
        party=party,
        offering=offering,
        state=Booking.State.CONFIRMED,
        pay_by=pay_by(walks[0], now=now),
        idempotency_key=order.key,
        booked_at=now,
    )
    Place.objects.bulk_create(Place(booking=booking, walk=walk, person=one) for walk in walks for one in people)
    _charge(booking, people, prices_of(offering), now=now)
    for walk in walks:
        show_places_taken(walk, Place.objects.filter(walk=walk, given_back_at=None).count(), now=now)
    write_to(booking, OutboxMessage.Kind.CONFIRMATION, now=now)
    record("book places", booking, by=by, now=now, fields=("party", "places"))
    return booking


def _save_people(party: Party, people: list[Person], *, guardian: bool) -> None:
    in_charge = people[0] if guardian else None
    for person in people:
        person.party = party
        person.guardian = in_charge if person.band != ADULT else None
        person.save()


def _charge(booking: Booking, people: Sequence[Person], prices: PriceList, *, now: datetime) -> None:
    offering = booking.offering
    lines = [
        BookingLine(
            booking=booking,
            person=one,
            label=one.band,
            price_minor=prices.price(one.band),
            currency=prices.currency,
            vat_basis_points=prices.vat_basis_points,
            prices=offering.prices,
            refunds=offering.refunds,
        )
        for one in people
    ]
    BookingLine.objects.bulk_create(lines)
    transfer(
        Transfer.Kind.SALE,
        debit="receivable",
        credit="deferred_income",
        amount_minor=sum(line.price_minor for line in lines),
        currency=prices.currency,
        booking=booking,
        now=now,
    )


def pay_by(walk: Walk, *, now: datetime) -> date | None:
    """Last day for a bank transfer: a week from now, and at least 3 days before the walk; None: pay when we meet."""
    today = now.astimezone(ZoneInfo(walk.zone)).date()
    latest = walk.local_date - timedelta(days=DAYS_BEFORE_THE_WALK)
    return min(today + timedelta(days=DAYS_TO_PAY), latest) if latest > today else None


def _day(day: date) -> str:
    return f"{day:%A} {day.day} {day:%B}"
