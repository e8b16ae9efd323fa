"""The office changes a party that waits: what becomes of its place on the list."""

from __future__ import annotations

from datetime import timedelta

import pytest
from bs4 import BeautifulSoup
from django.test import Client
from django.urls import reverse

from bookings.models import Booking
from bookings.services.book_places import book_places
from bookings.services.join_waiting_list import join_waiting_list
from tests.cast import World
from tests.pages import words_of

pytestmark = pytest.mark.usefixtures("september")


@pytest.fixture
def waiting(world: World) -> Booking:
    """Two who wait for a walk that is sold out; they joined an hour ago."""
    before = world.now - timedelta(hours=1)
    book_places(world.order(*["adult"] * 12, name="Coach Party"), by="participant", now=before)
    return join_waiting_list(world.order(), by="participant", now=before)


def fields_of(page: bytes) -> dict[str, str]:
    form = BeautifulSoup(page, "html.parser").select_one("main form")
    sent = form.select("input[name]:not([type=checkbox]):not([type=submit])")
    return {one["name"]: one.get("value", "") for one in sent if one["name"] != "csrfmiddlewaretoken"}


def change(olive: Client, booking: Booking, **fields: str) -> None:
    """Fill in the form, look at what it means, and do it."""
    address = reverse("staff_change", args=[booking.code])
    sent = fields_of(olive.get(address).content) | {"guardian": "on"} | fields
    shown = olive.post(address, sent)
    mark = BeautifulSoup(shown.content, "html.parser").select_one("button[name=terms]")["value"]
    olive.post(address, sent | {"terms": mark})


def test_the_booking_leads_to_the_form_that_says_what_becomes_of_the_place(olive: Client, waiting: Booking) -> None:
    address = reverse("staff_change", args=[waiting.code])
    booking = olive.get(reverse("staff_booking", args=[waiting.code])).text
    assert address in booking
    assert reverse("staff_move", args=[waiting.code]) not in booking, "who waits has nothing to move"
    assert "If it grows, it goes to the end" in words_of(olive.get(address).content)


def test_a_party_that_shrinks_keeps_its_place(world: World, olive: Client, waiting: Booking) -> None:
    someone = waiting.party.people.order_by("pk").last()
    change(olive, waiting, **{f"gone_{someone.public_id}": "on"})
    waiting.waiting.refresh_from_db()
    assert waiting.party.people.count() == 1
    assert waiting.waiting.joined_at == world.now - timedelta(hours=1)


def test_a_party_that_grows_goes_to_the_end(world: World, olive: Client, waiting: Booking) -> None:
    change(olive, waiting, adults="1")
    waiting.waiting.refresh_from_db()
    assert waiting.party.people.count() == 3
    assert waiting.waiting.joined_at > world.now - timedelta(hours=1)


def test_a_sold_booking_says_nothing_of_a_list(world: World, olive: Client) -> None:
    sold = book_places(world.order(), by="participant", now=world.now)
    assert "the end" not in words_of(olive.get(reverse("staff_change", args=[sold.code])).content)
