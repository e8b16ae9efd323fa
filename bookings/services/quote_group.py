"""Quote a group a price for a private walk, and let it accept."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, datetime
from zoneinfo import ZoneInfo

from bookings.errors import NotQuoted
from bookings.group_party import ages_of_group, charge_of, people_of_group
from bookings.models import Booking, BookingLine, GroupQuote, OutboxMessage, Person
from bookings.queries import prices_of
from bookings.services.charging import charge
from bookings.services.locks import lock_offerings
from bookings.services.orders import Order, accept_rules, enter, refuse_at_the_door
from bookings.services.outbox import write_to
from bookings.services.places import seat
from bookings.services.selling import obstacle, pay_by, walks_to_come
from bookings.vat import taxed_as
from foraywright.floor.acts import By, act, record, require_act
from foraywright.floor.compute.money import tax_within
from foraywright.floor.models import User
from walks.models import Walk

NOTHING = "Nothing was booked, and nothing is owed."


@act
def quote_group(quote: GroupQuote, *, by: User, now: datetime) -> GroupQuote:
    """Save `quote`, which is filled in but not saved. Raises NotQuoted where the group would not fit.

    The offering is locked: what is quoted must have been possible at that moment.
    """
    quote.offering = lock_offerings(quote.offering_id)[quote.offering_id]
    _refuse(quote, people_of_group(quote), walks_to_come(quote.offering, now=now), now=now)
    quote.currency, quote.made_by, quote.made_at = prices_of(quote.offering).currency, by, now
    quote.save()
    record("quote group", quote.enquiry, by=by, now=now, fields=("price", "valid_until"))
    return quote


@act
def accept_quote(quote: GroupQuote, *, by: By, now: datetime) -> Booking:
    """Book what was quoted, and return the booking; accepting again returns the same one. Raises NotQuoted.

    The offering is locked, then the quote: two of the group who accept at once would otherwise book twice.
    """
    offering = lock_offerings(quote.offering_id)[quote.offering_id]
    quote = GroupQuote.objects.select_for_update(of=("self",)).select_related("enquiry").get(pk=quote.pk)
    if quote.booking is not None:
        return quote.booking
    quote.offering = offering
    people, walks = people_of_group(quote), walks_to_come(offering, now=now)
    _refuse(quote, people, walks, now=now)
    booking = _enter(quote, people, walks, by=by, now=now)
    quote.booking = booking
    quote.save(update_fields=["booking"])
    record("accept quote", booking, by=by, now=now, fields=("party", "places"))
    return booking


def _refuse(quote: GroupQuote, people: Sequence[Person], walks: Sequence[Walk], *, now: datetime) -> None:
    reasons = list(_reasons_against(quote, now=now))
    if reasons:
        raise NotQuoted("That cannot be done now.", why=reasons, became=NOTHING, now="Ask us for a new quote.")
    refuse_at_the_door([one.band for one in people], quote.offering, walks, now=now)
    found = obstacle(ages_of_group(people, quote.leaders), quote.offering, walks, now=now)
    if found is not None:
        raise NotQuoted(f"Not possible: {found.what}.", why=found.why, became=NOTHING, now="Change the group’s size.")


def _reasons_against(quote: GroupQuote, *, now: datetime) -> Iterator[str]:
    if not quote.offering.private:
        yield "The walk is not kept for a group."
    if quote.enquiry.forgotten_at is not None:
        yield "We no longer have the group’s name and address."
    if quote.valid_until < local_day(quote, now=now):
        yield f"The quote was valid until {quote.valid_until.day} {quote.valid_until:%B %Y}."
    if GroupQuote.objects.filter(enquiry=quote.enquiry, made_at__gt=quote.made_at or now).exists():
        yield "There is a newer quote for this group."


def local_day(quote: GroupQuote, *, now: datetime) -> date:
    """The day of `now` at the site of the quoted walk. One query."""
    return now.astimezone(ZoneInfo(quote.offering.walks.earliest("starts_at").zone)).date()


def _enter(quote: GroupQuote, people: list[Person], walks: list[Walk], *, by: By, now: datetime) -> Booking:
    """The step that books the group: its leaders in charge of its children, one line for all that it pays."""
    require_act()
    booking = enter(_order(quote, people), people, Booking.State.CONFIRMED, now=now)
    booking.pay_by = pay_by(walks[0], now=now)
    booking.save()
    for place, leader in charge_of(people, quote.leaders).items():
        people[place].guardian = people[leader]
        people[place].save(update_fields=["guardian"])
    accept_rules(booking, by=by, now=now)
    seat(booking, people, walks, now=now)
    _write_line(booking, quote, now=now)
    charge(booking, quote.total_minor, now=now)
    write_to(booking, OutboxMessage.Kind.CONFIRMATION, now=now)
    return booking


def _order(quote: GroupQuote, people: Sequence[Person]) -> Order:
    asked = quote.enquiry
    return Order(
        offering=quote.offering,
        name=asked.name,
        email=asked.email,
        phone=asked.phone,
        bands=tuple(one.band for one in people),
        guardian=False,
        key=f"quote-{quote.public_id}",
    )


def _write_line(booking: Booking, quote: GroupQuote, *, now: datetime) -> None:
    taxed = taxed_as(quote.offering, now=now)
    BookingLine.objects.create(
        booking=booking,
        label="group",
        price_minor=quote.total_minor,
        currency=quote.currency,
        vat_basis_points=taxed.basis_points,
        vat_minor=tax_within(quote.total_minor, taxed.basis_points),
        vat_category=taxed.category,
        vat=taxed.version,
        prices=quote.offering.prices,
        refunds=quote.offering.refunds,
    )
