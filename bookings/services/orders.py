"""What a party asks for, and the steps by which it comes into the books."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from bookings.errors import NotBooked
from bookings.ground_rules import rules_in_force
from bookings.models import Booking, CallersConsent, Contact, Party, Person, RulesAccepted, SaidBy
from bookings.queries import ADULT, ADULT_AGE
from foraywright.floor.acts import By, require_act
from foraywright.floor.compute.short_codes import new_short_code
from foraywright.floor.models import PolicyVersion, User
from walks.compute.age_bands import RatioPolicy
from walks.compute.arrivals import NOTHING, Brought
from walks.compute.head_count import PartyAges
from walks.compute.head_count import Person as PersonAge
from walks.models import Offering, Walk

MOST_IN_A_PARTY = 30
NOTHING_TAKEN = "Nothing is owed and no place was taken."


@dataclass(frozen=True, slots=True)
class Order:
    """What a party asks for. `bands` has one entry a person ("adult" or a band of the ratio policy), adults first.

    `names` go to the people in the same order. `guardian`: an adult of the party is in charge of its children.
    `concessions`: the key of each person's concession, or nothing, in the same order; `discount`: a discount code.
    `key` is the random key that the form was issued with. `brings`: the party's cars and dogs.
    `address`: where letters are posted without an e-mail. `agreed`: how a caller agreed (CallersConsent.How).
    """

    offering: Offering
    name: str
    email: str
    phone: str
    bands: tuple[str, ...]
    guardian: bool
    key: str
    names: tuple[str, ...] = ()
    brings: Brought = NOTHING
    address: str = ""
    agreed: str = ""
    concessions: tuple[str, ...] = ()
    discount: str = ""


def refuse_at_the_door(bands: Sequence[str], offering: Offering, walks: Sequence[Walk], *, now: datetime) -> None:
    """Raise NotBooked where nobody could book the offering now, or no party has that size; `walks` = those to come."""
    reasons = list(_door_reasons(bands, offering, walks, now=now))
    if reasons:
        raise NotBooked("Not booked.", why=reasons, became=NOTHING_TAKEN)


def _door_reasons(bands: Sequence[str], offering: Offering, walks: Sequence[Walk], *, now: datetime) -> Iterator[str]:
    if offering.state == Offering.State.CALLED_OFF:
        yield "This walk has been called off."
    elif offering.state != Offering.State.PUBLISHED:
        yield "This walk is not open for booking."
    elif not walks or min(walk.starts_at for walk in offering.walks.all()) <= now:
        yield "This walk has begun or is over."
    if not bands:
        yield "A party needs at least one person. Say how many are coming."
    if len(bands) > MOST_IN_A_PARTY:
        yield f"You asked for {len(bands)} places; a party has at most {MOST_IN_A_PARTY}. Write to us for more."


def new_people(
    bands: Sequence[str], names: Sequence[str], policy: RatioPolicy, concessions: Sequence[str] = ()
) -> list[Person]:
    """People of these bands, names, concessions, not yet saved, adults first. Raises NotBooked for an unknown band."""
    youngest = {band.key: band.from_age for band in policy.bands} | {ADULT: ADULT_AGE}
    strange = set(bands) - set(youngest)
    if strange:
        raise NotBooked("Not booked.", why=[f"“{sorted(strange)[0]}” is no age band."], became="Nothing is owed.")
    nothing = [""] * len(bands)
    said = zip(bands, [*names, *nothing], [*concessions, *nothing], strict=False)
    people = [
        Person(band=band, youngest_age=youngest[band], name=name, concession=concession)
        for band, name, concession in said
    ]
    return sorted(people, key=lambda one: one.band != ADULT)


def has_guardian(people: Sequence[Person], order: Order) -> bool:
    """Whether the first of the party, an adult, is in charge of its children."""
    return order.guardian and people[0].band == ADULT


def ages_before_saving(people: Sequence[Person], *, guardian: bool) -> PartyAges:
    """The party as the ratios count it, before anybody is saved; `guardian`: the first is in charge of the children."""
    in_charge = 0 if guardian else None
    return PartyAges(tuple(PersonAge(one.youngest_age, None if one.band == ADULT else in_charge) for one in people))


def enter(order: Order, people: list[Person], state: str, *, now: datetime) -> Booking:
    """The step that writes down the party as a booking in `state`: contact, people and who is in charge of whom."""
    require_act()
    contact = Contact.objects.create(
        name=order.name, email=order.email, phone=order.phone, address=order.address, created_at=now
    )
    party = Party.objects.create(contact=contact, created_at=now)
    save_people(party, people, in_charge=people[0] if has_guardian(people, order) else None)
    return Booking(
        code=new_short_code(),
        party=party,
        offering=order.offering,
        state=state,
        idempotency_key=order.key,
        cars=order.brings.cars,
        dogs=order.brings.dogs,
        booked_at=now,
    )


def save_people(party: Party, people: Sequence[Person], *, in_charge: Person | None) -> None:
    """The step that saves people of a party, its children in the charge of `in_charge`."""
    require_act()
    for person in people:
        person.party = party
        person.guardian = in_charge if person.band != ADULT else None
        person.save()


def accept_rules(booking: Booking, *, by: By, now: datetime, rules: PolicyVersion | None = None) -> None:
    """The step that writes that whoever booked accepted the ground rules in force, for the whole party.

    `rules`: the version that was read to them, where that was done without signal.
    """
    require_act()
    said_by = SaidBy.OFFICE if isinstance(by, User) else SaidBy.CONTACT
    RulesAccepted.objects.create(booking=booking, rules=rules or rules_in_force(), said_by=said_by, at=now)


def note_consent(booking: Booking, order: Order, *, by: By, now: datetime) -> None:
    """The step that writes how a caller agreed, and to whom; nothing for a party that books by itself."""
    require_act()
    if order.agreed and isinstance(by, User):
        CallersConsent.objects.create(booking=booking, how=order.agreed, heard_by=by, at=now)
