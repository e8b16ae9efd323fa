"""Long lists page and sort on the server, at a cost that does not grow with their length."""

from __future__ import annotations

from datetime import timedelta
from itertools import pairwise

import pytest
from bs4 import BeautifulSoup
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from bookings.models import Booking, Contact, OutboxMessage, Party, Person
from bookings.services.book_places import book_places
from bookings.services.record_payment import record_payment
from foraywright.floor.ids import new_secret
from tests.cast import World

pytestmark = [pytest.mark.database, pytest.mark.usefixtures("september")]

LISTS = ("staff_walks", "staff_bookings", "staff_outbox", "staff_incidents", "staff_vouchers", "staff_acts")


def fill(world: World, number: int, *, begin: int = 0) -> None:
    """Bookings that lapsed, a letter each: rows as the acts leave them, written at once."""
    for n in range(begin, begin + number):
        contact = Contact.objects.create(name=f"Person {n:03}", email=f"p{n}@example.org", created_at=world.now)
        party = Party.objects.create(contact=contact, created_at=world.now)
        Person.objects.create(party=party, name=contact.name, band="adult")
        booking = Booking.objects.create(
            code=f"T{n:06}",
            party=party,
            offering=world.offering,
            state=Booking.State.LAPSED,
            idempotency_key=new_secret(),
            booked_at=world.now - timedelta(hours=n),
        )
        OutboxMessage.objects.create(
            kind="confirmation",
            booking=booking,
            contact=contact,
            version=1,
            message_id=f"<{n}@example.org>",
            written_at=world.now,
            due_at=world.now,
        )


def column(page: str, label: str) -> list[str]:
    cells = BeautifulSoup(page, "html.parser").select(f'[data-label="{label}"]')
    return [one.get_text(strip=True) for one in cells]


def test_each_page_shows_the_next_forty_and_no_row_twice(olive: Client, world: World) -> None:
    fill(world, 90)
    address = reverse("staff_bookings")
    pages = [column(olive.get(f"{address}?page={number}").text, "Booking") for number in (1, 2, 3)]
    assert [len(one) for one in pages] == [40, 40, 10]
    assert len({code for one in pages for code in one}) == 90
    assert column(olive.get(f"{address}?page=99").text, "Booking") == pages[2]
    assert column(olive.get(f"{address}?page=nonsense").text, "Booking") == pages[0]


@pytest.mark.parametrize("chosen", ["contact", "-contact"])
def test_a_column_sorts_both_ways_and_says_so(olive: Client, world: World, chosen: str) -> None:
    fill(world, 50)
    page = olive.get(f"{reverse('staff_bookings')}?sort={chosen}&state=lapsed").text
    names = column(page, "Contact")
    assert all(a >= b if chosen.startswith("-") else a <= b for a, b in pairwise(names))
    head = BeautifulSoup(page, "html.parser").select_one("th[aria-sort]")
    assert head["aria-sort"] == ("descending" if chosen.startswith("-") else "ascending")
    turned = head.find("a")["href"]
    assert turned == f"?sort={'contact' if chosen.startswith('-') else '-contact'}&state=lapsed"
    second = column(olive.get(f"{reverse('staff_bookings')}?sort={chosen}&page=2").text, "Contact")
    assert set(names).isdisjoint(second)


@pytest.mark.parametrize("wrong", ["password", "-", "party__contact__email", "booking", "owed; DROP TABLE"])
def test_a_column_that_there_is_not_sorts_as_at_first(olive: Client, world: World, wrong: str) -> None:
    fill(world, 3)
    address = reverse("staff_bookings")
    assert column(olive.get(address, {"sort": wrong}).text, "Booking") == column(olive.get(address).text, "Booking")


def test_the_list_is_narrowed_by_state_money_and_day(olive: Client, world: World) -> None:
    fill(world, 2)
    owes, paid = (book_places(world.order(), by="participant", now=world.now) for _ in range(2))
    record_payment(paid, into="bank", amount_minor=3600, by=world.olive, now=world.now)
    address = reverse("staff_bookings")

    def shown(**narrowed: str) -> set[str]:
        return {one.replace(" ", "") for one in column(olive.get(address, narrowed).text, "Booking")}

    assert shown(state="confirmed") == {owes.code, paid.code}
    assert shown(money="owes") == {owes.code}
    assert shown(money="even", state="confirmed") == {paid.code}
    assert shown(money="due") == set()
    day = world.walk.local_date
    assert shown(first=day.isoformat(), last=day.isoformat(), state="confirmed") == {owes.code, paid.code}
    assert shown(first=(day + timedelta(days=1)).isoformat()) == set()
    assert "Enter a valid date" in olive.get(address, {"first": "soon"}).text


@pytest.mark.parametrize("name", LISTS)
def test_a_list_costs_as_many_queries_for_thirty_rows_as_for_three(olive: Client, world: World, name: str) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as seen:
            assert olive.get(reverse(name)).status_code == 200
        return len(seen)

    fill(world, 3)
    few = queries()
    fill(world, 30, begin=3)
    assert queries() == few
