"""A booking's own pages, by link."""

from __future__ import annotations

from datetime import timedelta

import pytest
import time_machine
from bs4 import BeautifulSoup
from django.test import Client

from bookings.models import Booking, OutboxMessage, Person
from bookings.services.book_places import book_places
from bookings.services.booking_link import booking_link
from bookings.services.call_off_walk import call_off_walk
from bookings.services.cancel_booking import cancel_booking
from bookings.services.record_payment import record_payment
from foraywright.floor.models import AuditLine, LinkSecret
from tests.cast import World
from tests.conftest import NOW
from tests.pages import words_of

pytestmark = pytest.mark.usefixtures("september")

GONE = "With your e-mail address and the booking code from any of our letters you can have a new link sent."


@pytest.fixture
def booking(world: World) -> Booking:
    return book_places(world.order("adult", "4-8", names=("Mo Martin",)), by="participant", now=world.now)


@pytest.fixture
def address(booking: Booking) -> str:
    return f"/booking/{booking_link(booking, now=NOW)}/"


def terms(client: Client, address: str) -> str:
    page = BeautifulSoup(client.get(f"{address}cancel/").content, "html.parser")
    return str(page.find("input", {"name": "seen"})["value"])


def test_the_page_says_what_is_booked_and_owed(client: Client, booking: Booking, address: str) -> None:
    text = words_of(client.get(address).content)
    for words in ("is confirmed", "Saturday 3 October 2026, 10 am to 1 pm", "SU 387 148", "To pay £27.00"):
        assert words in text
    assert "By bank transfer by Monday 21 September 2026, with this reference: RF" in text


@pytest.mark.parametrize("page", ["", "cancel/"])
def test_nobody_keeps_or_passes_on_a_page_by_link(client: Client, address: str, page: str) -> None:
    for answer in (client.get(address + page), client.get(f"/booking/forged~link/{page}")):
        assert answer["Cache-Control"] == "no-store"
        has_form = b'method="post"' in answer.content
        assert answer["Referrer-Policy"] == ("same-origin" if has_form else "no-referrer"), "a browser sends its form"
        assert answer["X-Robots-Tag"] == "noindex"


def test_a_forged_link_is_not_found_and_says_what_to_do(client: Client, address: str) -> None:
    answer = client.get(address[:-3] + "xx/")
    assert answer.status_code == 404
    assert GONE in words_of(answer.content)
    assert "is confirmed" not in words_of(answer.content)


def test_an_expired_link_is_gone_sixty_days_after_the_walk(client: Client, world: World, address: str) -> None:
    end = world.offering.walks.get().ends_at + timedelta(days=60)
    with time_machine.travel(end - timedelta(seconds=1), tick=False):
        assert client.get(address).status_code == 200
    with time_machine.travel(end, tick=False):
        answer = client.get(address)
    assert answer.status_code == 410
    assert "This link has run out" in words_of(answer.content)
    assert GONE in words_of(answer.content)


def test_a_revoked_link_is_gone(client: Client, address: str) -> None:
    LinkSecret.objects.update(revoked_at=NOW)
    answer = client.get(address)
    assert answer.status_code == 410
    assert "This link was taken back" in words_of(answer.content)


def test_a_link_for_another_purpose_opens_nothing(client: Client, booking: Booking) -> None:
    from foraywright.floor.links import make_link

    token = make_link("other", booking.public_id, expires_at=NOW + timedelta(days=1), now=NOW)
    assert client.get(f"/booking/{token}/").status_code == 404


def test_names_are_kept_and_only_of_the_own_party(client: Client, world: World, booking: Booking, address: str) -> None:
    stranger = book_places(world.order(names=("Sam Swift",)), by="participant", now=world.now).party.people.first()
    child = booking.party.people.get(band="4-8")
    answer = client.post(address, {child.public_id: " Mia\nMartin ", stranger.public_id: "Gone"}, follow=True)
    assert "The names are kept." in words_of(answer.content)
    child.refresh_from_db()
    stranger.refresh_from_db()
    assert (child.name, stranger.name) == ("Mia Martin", "Sam Swift")
    line = AuditLine.objects.get(act="name people")
    assert (line.actor, line.fields) == ("participant", ["names"])


def test_a_name_that_is_too_long_is_refused_and_kept_in_the_form(
    client: Client, booking: Booking, address: str
) -> None:
    child = booking.party.people.get(band="4-8")
    answer = client.post(address, {child.public_id: "M" * 121})
    assert answer.status_code == 422
    assert "A name has at most 120 characters here." in words_of(answer.content)
    assert "M" * 121 in answer.content.decode()
    assert Person.objects.get(pk=child.pk).name == ""


def test_names_of_a_cancelled_booking_stay(client: Client, world: World, booking: Booking, address: str) -> None:
    child = booking.party.people.get(band="4-8")
    cancel_booking(booking, by="participant", now=world.now)
    answer = client.post(address, {child.public_id: "Mia"}, follow=True)
    assert "This booking is cancelled, so nobody comes with it. The names stay as they were." in words_of(
        answer.content
    )


def test_what_comes_back_is_shown_before_anything_is_cancelled(
    client: Client, world: World, booking: Booking, address: str
) -> None:
    record_payment(booking, into="bank", amount_minor=2700, by=world.olive, now=world.now)
    with time_machine.travel(NOW.replace(day=22), tick=False):
        text = words_of(client.get(f"{address}cancel/").content)
        assert "Of the price we let go 50 %, and keep £13.50" in text
        assert "Comes back to you £13.50" in text
        assert Booking.objects.get().state == Booking.State.CONFIRMED
        answer = client.post(f"{address}cancel/", {"seen": terms(client, address)}, follow=True)
    text = words_of(answer.content)
    assert "The booking is cancelled, and your places are free for others." in text
    assert "Comes back £13.50" in text
    assert "It goes back the way that it was paid. You need do nothing." in text
    assert Booking.objects.get().state == Booking.State.CANCELLED


def test_terms_that_changed_since_the_page_was_made_cancel_nothing(
    client: Client, world: World, booking: Booking, address: str
) -> None:
    record_payment(booking, into="bank", amount_minor=2700, by=world.olive, now=world.now)
    seen = terms(client, address)
    with time_machine.travel(NOW.replace(day=22), tick=False):
        answer = client.post(f"{address}cancel/", {"seen": seen})
    assert answer.status_code == 409
    assert "Look again. What it would do has changed since you were asked. Nothing was done." in words_of(
        answer.content
    )
    assert Booking.objects.get().state == Booking.State.CONFIRMED


def test_after_the_start_nothing_can_be_cancelled(client: Client, world: World, address: str) -> None:
    with time_machine.travel(world.offering.walks.get().starts_at, tick=False):
        assert client.post(f"{address}cancel/", {"seen": "2700-0"})["Location"] == address
        assert "Cancel the booking" not in words_of(client.get(address).content)
    assert Booking.objects.get().state == Booking.State.CONFIRMED


def test_a_called_off_walk_says_why_and_what_comes_back(
    client: Client, world: World, booking: Booking, address: str
) -> None:
    record_payment(booking, into="bank", amount_minor=2700, by=world.olive, now=world.now)
    call_off_walk(world.offering, why="storm", by=world.olive, now=world.now)
    text = words_of(client.get(address).content)
    assert "we called this walk off" in text
    assert "Called off Storm." in text
    assert "Comes back £27.00" in text


def test_late_payment_is_asked_for_plainly(client: Client, address: str) -> None:
    with time_machine.travel(NOW.replace(day=22), tick=False):
        text = words_of(client.get(address).content)
    assert "it was due by Monday 21 September 2026, so please pay now" in text


ANSWER = "If address and code belong together, a letter with a new link is on its way."


@pytest.mark.parametrize("email", ["PAT@example.org", "other@example.org"])
def test_everybody_who_asks_for_a_link_gets_the_same_answer(client: Client, booking: Booking, email: str) -> None:
    answer = client.post("/booking/", {"email": email, "code": booking.code.lower()}, follow=True)
    assert answer.redirect_chain == [("/booking/sent/", 302)]
    assert ANSWER in words_of(answer.content)
    letters = OutboxMessage.objects.filter(kind=OutboxMessage.Kind.NEW_LINK)
    assert letters.count() == (1 if email == "PAT@example.org" else 0)


def test_a_second_letter_only_after_ten_minutes(client: Client, booking: Booking) -> None:
    letters = OutboxMessage.objects.filter(kind=OutboxMessage.Kind.NEW_LINK)
    for minutes, expected in ((0, 1), (9, 1), (10, 2)):
        with time_machine.travel(NOW + timedelta(minutes=minutes), tick=False):
            client.post("/booking/", {"email": "pat@example.org", "code": booking.code})
        assert letters.count() == expected


def test_a_mistyped_code_is_said_back(client: Client, booking: Booking) -> None:
    wrong = ("3" if booking.code[0] != "3" else "4") + booking.code[1:]
    answer = client.post("/booking/", {"email": "pat@example.org", "code": wrong})
    assert answer.status_code == 422
    assert f"“{wrong}” is no booking code: a character is wrong. Look at the letter again." in words_of(answer.content)
