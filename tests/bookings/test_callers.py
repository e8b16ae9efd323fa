"""Booking for somebody who calls: the same act, consent noted, letters on paper."""

from __future__ import annotations

from datetime import timedelta

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from bookings.errors import NotPosted
from bookings.models import Booking, CallersConsent, Contact, OutboxMessage, PaperLetter, RulesAccepted, SaidBy
from bookings.needs.people import to_post
from bookings.paper_letters import paper_html
from bookings.services.book_places import book_places
from bookings.services.cancel_booking import cancel_booking
from bookings.services.erase import erase_party
from bookings.services.send_messages import send_next_message
from bookings.services.settle_letter import settle_letter
from foraywright.floor.ids import new_secret
from tests.cast import World

pytestmark = pytest.mark.database
ADDRESS = "3 Lower Row\nNether Wrack"


def call(world: World, **changes: object) -> Booking:
    values = {"email": "", "address": ADDRESS, "agreed": "phone", "name": "Wat Quince"}
    return book_places(world.order("adult", **(values | changes)), by=world.olive, now=world.now)


def form(**changes: str) -> dict[str, str]:
    values = {"adults": "2", "name": "Wat Quince", "address": ADDRESS, "rules": "on", "how": "phone"}
    return values | {"key": new_secret(), "book": "1"} | changes


@pytest.fixture
def office(world: World, client: Client) -> Client:
    client.force_login(world.olive)
    return client


def page_of(world: World) -> str:
    return reverse("staff_book", args=[world.offering.public_id])


def test_consent_is_noted_with_who_heard_it(world: World) -> None:
    booking = call(world)
    consent = CallersConsent.objects.get(booking=booking)
    assert (consent.how, consent.heard_by, consent.at) == ("phone", world.olive, world.now)
    assert RulesAccepted.objects.get(booking=booking).said_by == SaidBy.OFFICE


def test_a_letter_without_an_address_waits_for_the_post_and_is_never_mailed(
    world: World, mailoutbox: list[object]
) -> None:
    call(world)
    while send_next_message(now=world.now):
        pass
    assert mailoutbox == []
    assert [need.words for need in to_post(world.now)] == ["1 letter is to be printed and posted."]
    settle_letter(PaperLetter.objects.get(), posted=True, by=world.olive, now=world.now)
    assert list(to_post(world.now)) == []
    with pytest.raises(NotPosted):
        settle_letter(PaperLetter.objects.get(), posted=True, by=world.olive, now=world.now)


def test_a_letter_killed_before_it_was_noted_is_laid_out_once(world: World) -> None:
    call(world)
    send_next_message(now=world.now)
    OutboxMessage.objects.update(done_at=None, lease_until=None, due_at=world.now)
    send_next_message(now=world.now)
    assert PaperLetter.objects.count() == 1


def test_what_is_no_longer_true_is_set_aside_and_what_is_true_is_not(world: World) -> None:
    booking = call(world)
    send_next_message(now=world.now)
    letter = PaperLetter.objects.get()
    with pytest.raises(NotPosted):
        settle_letter(letter, posted=False, by=world.olive, now=world.now)
    cancel_booking(booking, by=world.olive, now=world.now)
    settle_letter(letter, posted=False, by=world.olive, now=world.now)
    assert OutboxMessage.objects.get(pk=letter.message_id).not_needed == "The booking is cancelled."


def test_the_paper_says_what_the_mail_says(world: World) -> None:
    booking = call(world, name="Wat <Quince>")
    html = paper_html(OutboxMessage.objects.get(), now=world.now)
    assert "3 Lower Row<br>Nether Wrack" in html
    assert "Wat &lt;Quince&gt;" in html
    assert f"{booking.code[:3]} {booking.code[3:6]} {booking.code[6:]}" in html
    assert "£18.00" in html


def test_the_address_goes_with_the_name(world: World) -> None:
    booking = call(world)
    cancel_booking(booking, by=world.olive, now=world.now)
    erase_party(booking, reason="asked", by=world.olive, now=world.now)
    assert list(Contact.objects.values_list("name", "address")) == [("", "")]


def test_the_office_books_on_the_same_terms(world: World, office: Client) -> None:
    with time_machine.travel(world.now, tick=False):
        assert "permission allows 14 people" in office.get(page_of(world)).text
        answer = office.post(page_of(world), form())
        booking = Booking.objects.get()
        assert answer.url == reverse("staff_booking", args=[booking.code])
        assert "agreed on the telephone, heard by Olive" in office.get(answer.url).text
        refused = office.post(page_of(world), form(adults="13"))
        assert refused.status_code == 409
        assert "There is no room for your party of 13" in refused.text.replace("there is", "There is")
        assert "Lower Row" in refused.text
        assert Booking.objects.count() == 1


def test_the_form_asks_for_a_way_to_write_and_for_consent(world: World, office: Client) -> None:
    with time_machine.travel(world.now, tick=False):
        answer = office.post(page_of(world), form(address="", how="", rules=""))
    assert answer.status_code == 422
    for words in ("where letters are to be posted", "Say how they agreed", "Read the ground rules to them"):
        assert words in answer.text
    assert Booking.objects.count() == 0


def test_a_caller_can_be_put_on_the_waiting_list(world: World, office: Client) -> None:
    book_places(world.order(*["adult"] * 12), by="participant", now=world.now)
    with time_machine.travel(world.now + timedelta(minutes=1), tick=False):
        values = form(wait="1")
        values.pop("book")
        assert office.post(page_of(world), values).status_code == 302
    assert CallersConsent.objects.get().booking.state == Booking.State.WAITING


def test_the_list_prints_and_marks(world: World, office: Client) -> None:
    call(world)
    send_next_message(now=world.now)
    letter = PaperLetter.objects.get().message.public_id
    with time_machine.travel(world.now, tick=False):
        assert reverse("staff_letter", args=[letter]) in office.get(reverse("staff_post")).text
        pdf = office.get(reverse("staff_letter", args=[letter]))
        assert pdf.content[:5] == b"%PDF-"
        assert office.post(reverse("staff_letter_settle", args=[letter])).status_code == 302
        assert "Nothing is to be posted" in office.get(reverse("staff_post")).text
