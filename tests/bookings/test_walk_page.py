"""The page of one walk, and the form that books it."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
import time_machine
from bs4 import BeautifulSoup
from django.test import Client

from bookings.models import Booking, Person
from bookings.services.book_places import book_places
from bookings.services.call_off_walk import call_off_walk
from curriculum.models import Taxon
from curriculum.queries import accounts_in_use
from curriculum.services.load_starter import load_starter
from foraywright.floor.numbering import give_slug
from tests.cast import World
from tests.conftest import NOW
from tests.curriculum.garlic import write_among
from tests.pages import words_of
from walks.models import ThemeTaxon, Walk
from walks.queries import expectation_of

pytestmark = pytest.mark.usefixtures("september")

WALK = "/walks/the-bare-wood-2026-10-03/"
BOOK = f"{WALK}book/"


def fresh(client: Client, **typed: str) -> dict[str, str]:
    """A form that nothing is wrong with, as the page issues it, with what is `typed` over it."""
    page = BeautifulSoup(client.get(BOOK).content, "html.parser")
    good = {"name": "Pat Partridge", "email": "pat@example.org", "adults": "2", "guardian": "on", "rules": "on"}
    return good | {"key": page.find("input", {"name": "key"})["value"]} | typed


def test_the_page_says_what_one_must_know(client: Client, world: World) -> None:
    text = words_of(client.get(WALK).content)
    for words in (
        "Saturday 3 October 2026, 10 am to 1 pm",
        "Cast Wood, the east gate",
        "SU 387 148",
        "Gwen Guide and Harry Guide, both first-aiders",
        "12 places left. The landowner's permission allows 14 people, staff included; 2 are coming; 12 places remain.",
        "18 and over £18.00",
        "4 to 8 £9.00 6",
        "Under 2 free 3",
        "100 % back 14 days or more before; 50 % back 7 days or more before; after that nothing.",
        "NSPCC Learning",
    ):
        assert words in text


def test_a_full_walk_says_so_and_takes_nobody(client: Client, world: World) -> None:
    book_places(world.order(*["adult"] * 12), by="participant", now=world.now)
    text = words_of(client.get(WALK).content)
    assert "No place is left. The landowner's permission allows 14 people, staff included; 14 are coming" in text
    assert client.get(BOOK)["Location"] == WALK


def test_a_called_off_walk_says_why_and_has_no_form(client: Client, world: World) -> None:
    call_off_walk(world.offering, why="storm", by=world.olive, now=world.now)
    page = client.get(WALK).content
    assert "Called off Storm." in words_of(page)
    assert b"<form" not in page
    assert client.get(BOOK)["Location"] == WALK


def test_children_without_an_adult_of_their_own_are_counted_by_the_ratio(client: Client, world: World) -> None:
    book_places(world.order(*["4-8"] * 3, guardian=False), by="participant", now=world.now)
    text = words_of(client.get(WALK).content)
    assert "Without an adult of their own, up to 3 more aged 4 to 8 could come." in text


def test_an_old_address_leads_to_the_present_one(client: Client, world: World) -> None:
    give_slug("offering", "the-bare-beeches", world.offering.public_id, now=world.now + timedelta(seconds=1))
    answer = client.get(WALK)
    assert (answer.status_code, answer["Location"]) == (301, "/walks/the-bare-beeches/")


def test_an_address_that_never_was_is_not_found(client: Client, world: World) -> None:
    assert client.get("/walks/nothing-2026-10-03/").status_code == 404
    assert client.post(WALK).status_code == 405
    assert client.put(BOOK).status_code == 405
    assert client.head(WALK).status_code == 200


def test_the_numbers_chosen_on_the_page_stand_in_the_form(client: Client, world: World) -> None:
    page = BeautifulSoup(client.get(f"{BOOK}?adults=2&age_4-8=1").content, "html.parser")
    assert page.find("input", {"name": "adults"})["value"] == "2"
    assert page.find("input", {"name": "age_4-8"})["value"] == "1"


def test_booking_takes_the_places_and_opens_the_bookings_page(client: Client, world: World) -> None:
    typed = fresh(client, **{"age_4-8": "1", "names": "Pat Partridge\nPip Partridge"})
    answer = client.post(BOOK, typed, follow=True)
    booking = Booking.objects.get()
    assert answer.redirect_chain[0][0].startswith("/booking/")
    assert "Pat" not in answer.redirect_chain[0][0]
    assert "Your places are yours." in words_of(answer.content)
    people = list(Person.objects.order_by("pk"))
    assert [(one.name, one.band) for one in people] == [
        ("Pat Partridge", "adult"),
        ("Pip Partridge", "adult"),
        ("", "4-8"),
    ]
    assert people[2].guardian == people[0]
    assert booking.party.contact.email == "pat@example.org"


def test_the_same_form_sent_twice_books_once(client: Client, world: World) -> None:
    typed = fresh(client)
    client.post(BOOK, typed)
    with time_machine.travel(NOW + timedelta(minutes=1), tick=False):
        answer = client.post(BOOK, typed, follow=True)
    assert Booking.objects.count() == 1
    expected = "These places were booked already with the same form. Nothing was booked twice."
    assert expected in words_of(answer.content)


REFUSED = [
    ({"adults": "0"}, "A party needs at least one person. Say how many are coming."),
    ({"adults": ""}, "A party needs at least one person. Say how many are coming."),
    ({"adults": "-2"}, "−2 is less than nobody. Write 0 or more."),
    ({"adults": "two"}, "“two” is no whole number. Write it in figures, e.g. 2."),
    ({"adults": "1.5"}, "“1.5” is no whole number. Write it in figures, e.g. 2."),
    ({"adults": "10000"}, "A party has at most 30 people, and you wrote 10,000. Write to us for more."),
    ({"adults": "20", "age_9-12": "11"}, "That is 31 people; a party has at most 30. Write to us for more."),
    ({"age_4-8": "x"}, "“x” is no whole number. Write it in figures, e.g. 2."),
    ({"email": ""}, "Write your e-mail address: the confirmation goes there."),
    ({"email": "pat at example"}, "“pat at example” is no e-mail address. Write it like pat@example.org."),
    ({"name": " "}, "Write your name, so that we know who books."),
    ({"name": "P" * 121}, "A name has at most 120 characters here."),
    ({"rules": ""}, "Set this mark if you accept the ground rules; without it we cannot take you."),
    ({"names": "A\nB\nC"}, "You wrote 3 names for a party of 2. Write one name a line."),
    ({"key": ""}, "This form came incomplete. Open the walk’s page again and book from there."),
]


@pytest.mark.parametrize(("typed", "sentence"), REFUSED, ids=[sentence[:30] for _, sentence in REFUSED])
def test_a_form_that_will_not_do_says_why_and_keeps_what_was_typed(
    client: Client, world: World, typed: dict[str, str], sentence: str
) -> None:
    answer = client.post(BOOK, fresh(client, **{"phone": "01632 960 077"} | typed))
    assert answer.status_code == 422
    assert sentence in words_of(answer.content)
    page = BeautifulSoup(answer.content, "html.parser")
    assert page.find("input", {"name": "phone"})["value"] == "01632 960 077"
    for field, value in typed.items():
        box = page.find("input", {"name": field})
        if value.strip() and box and box.get("type") != "checkbox":
            assert box["value"] == value
    assert not Booking.objects.exists()


def test_a_party_that_does_not_fit_hears_which_limit_and_how_many_would(client: Client, world: World) -> None:
    book_places(world.order(*["adult"] * 10), by="participant", now=world.now)
    answer = client.post(BOOK, fresh(client, adults="3"))
    text = words_of(answer.content)
    assert answer.status_code == 409
    assert "Not booked: there is no room for your party of 3 on Saturday 3 October." in text
    assert "The landowner's permission allows 14 people, staff included; 12 are coming; 2 places remain." in text
    assert "Nothing is owed and no place was taken." in text
    assert "2 of your party would fit: book for 2, or choose another walk." in text
    assert 'value="pat@example.org"' in answer.content.decode()
    assert Booking.objects.count() == 1


def test_a_walk_called_off_meanwhile_takes_nobody(client: Client, world: World) -> None:
    typed = fresh(client)
    call_off_walk(world.offering, why="storm", by=world.olive, now=world.now)
    answer = client.post(BOOK, typed)
    assert answer.status_code == 409
    assert "This walk has been called off." in words_of(answer.content)
    assert not Booking.objects.exists()


def test_a_walk_begun_meanwhile_takes_nobody(client: Client, world: World) -> None:
    typed = fresh(client)
    with time_machine.travel(Walk.objects.get().starts_at, tick=False):
        answer = client.post(BOOK, typed)
    assert answer.status_code == 409
    assert "This walk has begun or is over." in words_of(answer.content)


def test_a_form_from_elsewhere_is_refused(world: World) -> None:
    strict = Client(enforce_csrf_checks=True)
    assert strict.post(BOOK, {"name": "Pat"}).status_code == 403


def test_the_page_says_how_many_species_a_walk_meets_and_how_sure_that_is(
    client: Client, world: World, tmp_path: Path
) -> None:
    taxa = ["pleurotus-ostreatus", "cantharellus-cibarius"]
    load_starter(write_among(taxa, tmp_path), by="command", now=world.now)
    ThemeTaxon.objects.create(theme=world.theme, taxon=Taxon.objects.get(key=taxa[0]), place=0)
    met = expectation_of(Walk.objects.get(), accounts_in_use())

    page = BeautifulSoup(client.get(WALK).content, "html.parser")

    said = f"Of 2 species that we teach and that may stand there then, a walk meets about {met.number:.0f}."
    assert said in words_of(str(page).encode())
    titles = {one["title"] for one in page.select("main [title]")}
    wanted, other = met.taught
    assert titles == {wanted.chance.interval_words, f"{other.chance.words}, {other.chance.interval_words}"}
