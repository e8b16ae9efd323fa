"""A group whose numbers change: a newer quote, once accepted, changes the booking, its places, ledger and papers."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from bookings.compute.invoices import from_data
from bookings.errors import NotQuoted
from bookings.group_quotes import quote_link
from bookings.models import Booking, GroupQuote, Invoice, OutboxMessage, Person, Place
from bookings.queries import balance, credited, due, refund_due, statement_of
from bookings.services.cancel_booking import cancel_booking
from bookings.services.issue_invoice import issue_invoice
from bookings.services.quote_group import accept_quote
from bookings.services.record_payment import record_payment
from tests.bookings.test_groups import make, private
from tests.cast import World
from walks.models import Offering

__all__ = ["private"]
pytestmark = [pytest.mark.database, pytest.mark.usefixtures("september")]


@pytest.fixture
def booking(world: World, private: Offering) -> Booking:
    """Six children with two leaders, for £66; two of the children have names."""
    made = accept_quote(make(world, private), by="participant", now=world.now)
    for number, one in enumerate(made.party.people.filter(band="9-12").order_by("-pk")[:2]):
        Person.objects.filter(pk=one.pk).update(name=f"Child {number}")
    return made


def again(world: World, private: Offering, children: int, leaders: int = 2, **changes: object) -> GroupQuote:
    """A newer quote for the same group and walk."""
    GroupQuote.objects.update(made_at=world.now - timedelta(days=1))
    return make(world, private, children=children, leaders=leaders, **changes)


def test_until_it_is_accepted_what_is_booked_stands(world: World, private: Offering, booking: Booking) -> None:
    quote = again(world, private, 4)
    assert Place.objects.filter(given_back_at=None).count() == 8
    assert accept_quote(quote, by="participant", now=world.now) == booking
    assert Booking.objects.count() == 1
    assert accept_quote(quote, by="participant", now=world.now) == booking
    assert OutboxMessage.objects.filter(booking=booking, kind="changed").count() == 1


@pytest.mark.parametrize(("children", "leaders"), [(4, 2), (8, 3), (6, 1), (9, 1)])
def test_places_people_and_money_follow(
    world: World, private: Offering, booking: Booking, children: int, leaders: int
) -> None:
    accept_quote(again(world, private, children, leaders), by="participant", now=world.now)
    people = list(booking.party.people.order_by("pk"))
    bands = [one.band for one in people]
    assert (bands.count("adult"), bands.count("9-12")) == (leaders, children)
    assert booking.places.filter(given_back_at=None).count() == children + leaders
    assert all(one.guardian is not None and one.guardian.band == "adult" for one in people if one.band != "adult")
    assert statement_of(private.walks.get(), now=world.now).head_count.participants == children + leaders
    assert (due(booking), balance(booking)) == (1100 * children, 1100 * children)
    assert {one.name for one in people} >= {"Child 0", "Child 1"}
    assert private.walks.get().places_taken_shown == children + leaders
    assert credited(booking, "deferred_income", "vat") == due(booking)


def test_paid_in_full_the_difference_comes_back_or_is_owed(world: World, private: Offering, booking: Booking) -> None:
    record_payment(booking, into="bank", amount_minor=6600, by=world.olive, now=world.now)
    accept_quote(again(world, private, 4), by="participant", now=world.now)
    assert (balance(booking), refund_due(booking)) == (0, 2200)
    accept_quote(again(world, private, 8), by="participant", now=world.now)
    assert (balance(booking), refund_due(booking)) == (2200, 0), "what was promised back pays for who joins"
    assert credited(booking, "deferred_income", "vat") == due(booking)


def test_invoices_less_credit_notes_are_what_is_due(world: World, private: Offering, booking: Booking) -> None:
    issue_invoice(booking, buyer="Nether Wrack School", by=world.olive, now=world.now)
    accept_quote(again(world, private, 4), by="participant", now=world.now)
    credit = Invoice.objects.get(kind=Invoice.Kind.CREDIT_NOTE)
    assert credit.total_minor == 6600
    issue_invoice(booking, buyer="Nether Wrack School", by=world.olive, now=world.now)
    assert Invoice.objects.filter(kind=Invoice.Kind.INVOICE).latest("pk").total_minor == 4400
    cancel_booking(booking, by="participant", now=world.now)
    sums = {kind: sum(one.total_minor for one in Invoice.objects.filter(kind=kind)) for kind in Invoice.Kind.values}
    assert sums["invoice"] - sums["credit_note"] == due(booking) == 0
    assert all(from_data(one.lines) for one in Invoice.objects.all())


def test_more_than_fit_are_not_quoted_and_the_groups_own_places_do_not_stand_in_its_way(
    world: World, private: Offering, booking: Booking
) -> None:
    accept_quote(again(world, private, 10), by="participant", now=world.now)
    assert booking.places.filter(given_back_at=None).count() == 12
    with pytest.raises(NotQuoted, match="What is booked stays as it was"):
        again(world, private, 20)
    assert due(booking) == 11000


def test_another_group_is_not_offered_a_walk_that_is_taken(
    world: World, private: Offering, booking: Booking, olive: Client
) -> None:
    mine = reverse("staff_group", args=[booking.quotes.get().enquiry.public_id])
    assert "For the school</option>" in olive.get(mine).text
    other = booking.quotes.get().enquiry
    other.pk, other.public_id = None, "anotherenquiry"
    other.save()
    assert "For the school</option>" not in olive.get(reverse("staff_group", args=["anotherenquiry"])).text


def test_the_page_says_what_it_changes_and_the_older_one_that_it_was_replaced(
    world: World, private: Offering, booking: Booking, client: Client
) -> None:
    first = booking.quotes.get()
    newer = again(world, private, 4)
    there = reverse("quote_page", args=[quote_link(newer, now=world.now)])
    assert "which stands as it is until you accept" in client.get(there).text
    assert "Accepted" in client.get(reverse("quote_page", args=[quote_link(first, now=world.now)])).text
    assert client.post(there, {"rules": "on"}).status_code == 302
    assert "There is a newer quote" in client.get(reverse("quote_page", args=[quote_link(first, now=world.now)])).text
