"""The staff's search: beginnings of words, folded; people for the office alone; nothing in addresses."""

from __future__ import annotations

import pytest
from bs4 import BeautifulSoup
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from bookings.models import Booking, Contact, Person
from bookings.search import A_PAGE, search
from bookings.services.book_places import book_places
from bookings.services.cancel_booking import cancel_booking
from bookings.services.erase import erase_party
from bookings.services.name_people import name_people
from foraywright.floor.compute.permissions import Actor
from foraywright.floor.compute.short_codes import spoken
from tests.cast import OFFICE, World
from tests.conftest import NOW

pytestmark = pytest.mark.usefixtures("september")

GUIDE = Actor(signed_in=True, roles=frozenset({"guide"}))
REVIEWER = Actor(signed_in=True, roles=frozenset({"reviewer"}))


@pytest.fixture
def booking(world: World) -> Booking:
    order = world.order("adult", "4-8", name="Zoë Ødegård", email="zoe@Example.org", names=("Zoë Ødegård", "Ruán"))
    return book_places(order, by="participant", now=world.now)


def found(actor: Actor, typed: str) -> dict[str, list[str]]:
    return {group.title: [one.words for one in group.found] for group in search(actor, typed)}


@pytest.mark.parametrize(
    "typed", ["zoe", "ZOË ød", "ødeg", "zoe@example", "ruan", "960 001", "01632 960", "(01632) 9600-01"]
)
def test_a_booking_is_found_by_anybody_in_it(booking: Booking, typed: str) -> None:
    assert found(OFFICE, typed)["Bookings"] == [spoken(booking.code)]


@pytest.mark.parametrize(
    "typed", ["angstrom", "O'Ang", "oang", "luk", "zaneta o’å", "+44 1632 960001", "00441632960001"]
)
def test_a_name_is_found_by_any_part_and_a_number_with_its_country(world: World, typed: str) -> None:
    booking = book_places(world.order("adult", name="Żaneta O’Ångström-Łuk"), by="participant", now=world.now)
    assert found(OFFICE, typed)["Bookings"] == [spoken(booking.code)]


def test_a_booking_is_found_by_its_code_as_it_is_spoken(booking: Booking) -> None:
    assert found(OFFICE, spoken(booking.code).lower())["Bookings"] == [spoken(booking.code)]


@pytest.mark.parametrize("typed", ["degard", "001 960", "z", "", "%", "_oe", "96"])
def test_middles_wild_cards_and_too_little_find_nobody(booking: Booking, typed: str) -> None:
    assert "Bookings" not in found(OFFICE, typed)


@pytest.mark.parametrize("actor", [GUIDE, REVIEWER, Actor()])
def test_people_are_found_by_the_office_alone(booking: Booking, actor: Actor) -> None:
    for typed in ("zoe", "ruan", "01632 960 001", booking.code):
        assert "Bookings" not in found(actor, typed)


def test_walks_sites_and_guides_are_found_by_their_words(world: World) -> None:
    assert found(OFFICE, "bare wo")["Walks and courses"] == ["The bare wood"]
    assert found(GUIDE, "2026-10")["Walks and courses"] == ["The bare wood"]
    assert found(GUIDE, "cast")["Sites"] == ["Cast Wood"]
    assert found(OFFICE, "gwen")["Guides"] == ["Gwen Guide"]
    assert found(REVIEWER, "cast") == {}


def test_a_new_name_is_found_and_an_erased_one_is_not(world: World, booking: Booking) -> None:
    child = booking.party.people.get(band="4-8")
    name_people(booking, {child.public_id: "Ottilie"}, by="participant", now=world.now)
    assert "Bookings" in found(OFFICE, "ottil")
    assert "Bookings" not in found(OFFICE, "ruan")
    cancel_booking(booking, by="participant", now=world.now)
    erase_party(booking, reason="asked", by=world.olive, now=world.now)
    assert not Contact.objects.exclude(searched="").exists()
    assert not Person.objects.exclude(folded="").exists()


def test_what_is_typed_stands_in_no_address_and_is_not_kept(world: World, booking: Booking) -> None:
    client = Client()
    client.force_login(world.olive)
    answer = client.post("/staff/search/", {"sought": "Zoë"})
    page = BeautifulSoup(answer.content, "html.parser")
    assert spoken(booking.code) in page.get_text()
    assert answer["Cache-Control"] == "no-store"
    assert not [one["href"] for one in page.select("a[href]") if "Zo" in one["href"]]
    assert "Zo" not in str(dict(client.session))
    assert spoken(booking.code) not in client.get("/staff/search/?sought=Zo%C3%AB").content.decode()


def test_a_page_is_full_and_the_next_goes_on(world: World) -> None:
    for number in range(A_PAGE + 3):
        contact = Contact.objects.create(name=f"Quill {number}", email="q@example.org", created_at=NOW)
        party = contact.parties.create(created_at=NOW)
        code, key = f"X{number}", f"k{number}"
        Booking.objects.create(
            party=party, offering=world.offering, code=code, state="cancelled", idempotency_key=key, booked_at=NOW
        )
    with CaptureQueriesContext(connection) as ran:
        [first] = search(OFFICE, "quill")
    [second] = search(OFFICE, "quill", page=2)
    assert (len(first.found), first.more, len(second.found), second.more) == (A_PAGE, True, 3, False)
    assert len(ran) <= 5
