"""What is said of prices before somebody books, and what those pay who join a booking later."""

from __future__ import annotations

from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from bookings.compute.prices import Quote
from bookings.models import Booking
from bookings.queries import balance
from bookings.services.book_places import book_places
from bookings.services.booking_link import booking_link
from bookings.services.issue_voucher import issue_voucher
from foraywright.floor.ids import new_secret
from foraywright.floor.models import PolicyVersion
from tests.cast import World
from tests.conftest import NOW
from tests.pages import words_of
from walks.models import Offering
from walks.queries import slug_of

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("september")]
CONCESSION = {"key": "student", "label": "student", "show": "a student card", "band": "adult", "price": 1000}


@pytest.fixture
def lower(world: World) -> World:
    before = world.offering.prices
    body = before.body | {"concessions": [CONCESSION], "deposit": {"percent": 25, "rest_days": 10}}
    policy = PolicyVersion.objects.create(kind=before.kind, number=2, body=body, source="the cast", since=NOW)
    Offering.objects.update(prices=policy)
    world.offering.refresh_from_db()
    return world


def quoted(world: World, worth: int) -> str:
    voucher = issue_voucher(value_minor=worth, into="cash", key=new_secret(), by=world.olive, now=NOW)
    asked = {"adults": "2", "voucher": voucher.code, "price": "", "key": new_secret()}
    return words_of(Client().post(reverse("book", args=[slug_of(world.offering.public_id)]), asked).content)


@pytest.mark.parametrize(
    ("worth", "said", "never"),
    [
        (5000, "Your voucher pays £36.00 of it, and nothing is left to pay.", "deposit"),
        (1000, "£26.00 is left to pay. That covers the deposit; the rest is due by", "as a deposit"),
        (500, "£31.00 is left to pay. Of this £4.00 is due as a deposit, the rest by", "covers"),
    ],
)
def test_a_quote_says_what_a_voucher_leaves(lower: World, worth: int, said: str, never: str) -> None:
    words = quoted(lower, worth)
    quote = words[words.index("For this party") : words.index("Nothing is booked yet")]
    assert said in quote
    assert never not in quote
    assert "£0.00" not in quote


def test_a_deposit_is_what_a_voucher_leaves_of_it() -> None:
    due = (900, date(2026, 9, 23))
    assert [Quote(3600, 0, 600, due, paid).deposit_after_voucher for paid in (0, 500, 900, 3600)] == [900, 400, 0, 0]
    assert Quote(3600, 0, 600, None, 500).deposit_after_voucher == 0


@pytest.mark.parametrize("name", ["book", "staff_book"])
def test_lower_prices_stand_beside_the_form(lower: World, olive: Client, name: str) -> None:
    which = lower.offering.public_id if name == "staff_book" else slug_of(lower.offering.public_id)
    page = words_of(olive.get(reverse(name, args=[which])).content)
    assert "Student £10.00" in page[page.index("18 and over £18.00") :]


def change(booking: Booking, **typed: str) -> Client:
    page = reverse("booking_change", args=[booking_link(booking, now=NOW)])
    client, typed = Client(), {"adults": "0", "guardian": "on", "key": new_secret()} | typed
    shown = client.post(page, typed)
    if shown.context["form"].errors:
        return shown
    return client.post(page, typed | {"terms": shown.context["terms"].mark})


def test_who_joins_later_pays_the_lower_price(lower: World) -> None:
    booking = book_places(lower.order("adult"), by="participant", now=NOW)
    assert change(booking, adults="2", at_student="1", names="Sam\nKim").status_code == 302
    assert sorted(booking.lines.values_list("concession", "price_minor")) == [("", 1800), ("", 1800), ("student", 1000)]
    assert balance(booking) == 4600


def test_no_more_people_join_at_the_lower_price_than_join(lower: World) -> None:
    booking = book_places(lower.order("adult"), by="participant", now=NOW)
    answer = change(booking, adults="1", at_student="2")
    assert "You wrote 2, and your party has 1 of that age for it." in words_of(answer.content)
    assert balance(booking) == 1800
