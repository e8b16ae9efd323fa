"""The steps that bring a quoted group into the books, and change what it booked before."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import datetime

from bookings.compute.refunds import ChangeTerms
from bookings.group_party import charge_of
from bookings.lifts import adults_of
from bookings.models import Booking, BookingLine, GroupQuote, OutboxMessage, Person
from bookings.queries import ADULT, balance, due, people_of, refund_due
from bookings.services.change_party import settle_change
from bookings.services.charging import charge, end_lines
from bookings.services.orders import Order, accept_rules, enter, save_people
from bookings.services.outbox import write_to
from bookings.services.places import look_at_list, seat
from bookings.services.selling import pay_by
from bookings.services.share_lifts import end_lift
from bookings.vat import taxed_as
from foraywright.floor.acts import By, require_act
from foraywright.floor.compute.money import tax_within
from walks.models import Walk


def book_group(quote: GroupQuote, people: list[Person], walks: list[Walk], *, by: By, now: datetime) -> Booking:
    """The step that books the group: its leaders in charge of its children, one line for all that it pays."""
    require_act()
    booking = enter(_order(quote, people), people, Booking.State.CONFIRMED, now=now)
    booking.pay_by = pay_by(walks[0], now=now)
    booking.save()
    _put_in_charge(people, quote.leaders)
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


def requote_group(
    booking: Booking, quote: GroupQuote, people: list[Person], walks: list[Walk], *, by: By, now: datetime
) -> Booking:
    """The step by which a newer quote takes the place of the one that the locked `booking` followed.

    Both sides agreed on the new price for the whole group, so nothing is kept of the old one, whatever the refund
    policy says of a party that shrinks by itself (our rule). Who was in the party and whose age still comes, stays.
    """
    require_act()
    before = due(booking)
    end_lines(list(booking.lines.filter(ended_at=None)), percent=100, now=now)
    _change_people(booking, people, quote.leaders, walks, now=now)
    _write_line(booking, quote, now=now)
    settle_change(
        booking, ChangeTerms(before, due(booking), before - balance(booking), promised=refund_due(booking)), now=now
    )
    if due(booking) > before:
        booking.pay_by = pay_by(walks[0], now=now)
    booking.version += 1
    booking.save(update_fields=["version", "pay_by"])
    accept_rules(booking, by=by, now=now)
    write_to(booking, OutboxMessage.Kind.CHANGED, now=now)
    return booking


def _change_people(booking: Booking, wanted: list[Person], leaders: int, walks: list[Walk], *, now: datetime) -> None:
    """Adults are saved first and go last: each child must have its leader at every moment."""
    before = people_of(booking)
    after = _those_who_stay(wanted, before)
    save_people(booking.party, after, in_charge=None)
    _put_in_charge(after, leaders)
    staying = {one.pk for one in after}
    for one in sorted(before, key=lambda one: one.band == ADULT):
        if one.pk not in staying:
            one.delete()
    seat(booking, after, walks, now=now)
    look_at_list(booking.offering, now=now)
    if not adults_of(booking):
        end_lift(booking, now=now)


def _those_who_stay(wanted: Sequence[Person], before: Sequence[Person]) -> list[Person]:
    """`wanted`, each filled by somebody of that band who was there before: leaders first, then those with a name."""
    there: dict[str, list[Person]] = defaultdict(list)
    for one in sorted(before, key=lambda one: (not one.is_leader, not one.name, one.pk), reverse=True):
        there[one.band].append(one)
    return [_stays(there[one.band].pop(), one) if there[one.band] else one for one in wanted]


def _stays(person: Person, wanted: Person) -> Person:
    person.is_leader = wanted.is_leader
    return person


def _put_in_charge(people: Sequence[Person], leaders: int) -> None:
    for place, leader in charge_of(people, leaders).items():
        people[place].guardian = people[leader]
        people[place].save(update_fields=["guardian"])


def _what_was_sold(quote: GroupQuote) -> str:
    return f"group of {len(quote.bands)} with {quote.leaders_in_words} of its own"


def _write_line(booking: Booking, quote: GroupQuote, *, now: datetime) -> None:
    taxed = taxed_as(quote.offering, now=now)
    BookingLine.objects.create(
        booking=booking,
        label=_what_was_sold(quote),
        price_minor=quote.total_minor,
        currency=quote.currency,
        vat_basis_points=taxed.basis_points,
        vat_minor=tax_within(quote.total_minor, taxed.basis_points),
        vat_category=taxed.category,
        vat=taxed.version,
        prices=quote.offering.prices,
        refunds=quote.offering.refunds,
    )
