"""The letter that brings a quote: when it goes out, when it does not, what is kept of it, and who may erase it."""

from __future__ import annotations

import json
import re
from datetime import UTC, date, datetime, timedelta

import pytest
import time_machine
from django.core import mail
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse

from bookings import tombstones
from bookings.errors import NotChanged, NotErased, NotQuoted
from bookings.models import Booking, GroupEnquiry, OutboxMessage
from bookings.services.ask_for_group import forget_enquiries
from bookings.services.call_off_walk import call_off_walk
from bookings.services.cancel_booking import cancel_booking
from bookings.services.change_contact import NewContact, change_asker
from bookings.services.erase import erase_again, erase_enquiry, erase_party
from bookings.services.note_bounce import note_bounce
from bookings.services.quote_group import accept_quote, send_quote_again, withdraw_quote
from bookings.services.send_messages import send_next_message
from bookings.services.settle_message import retry_message
from foraywright.floor.models import AuditLine
from tests.bookings.test_groups import make, private
from tests.cast import World
from tests.pages import say_yes, words_of
from walks.models import Offering

__all__ = ["private"]
pytestmark = [pytest.mark.database, pytest.mark.usefixtures("september")]


@pytest.fixture(autouse=True)
def _own_tombstones(monkeypatch: pytest.MonkeyPatch, tmp_path: object) -> None:
    monkeypatch.setattr(tombstones, "path", lambda: tmp_path / "erased.jsonl")


def link_in(text: str) -> str:
    found = re.search(r"https://walks\.example\.org(/quote/[^/\s]+/)\n", text)
    assert found, text
    return found[1]


def sent(world: World) -> OutboxMessage:
    message = send_next_message(now=world.now)
    assert message is not None
    message.refresh_from_db()
    return message


def test_the_letter_brings_the_quote_and_its_link_to_who_asked(
    world: World, private: Offering, client: Client, mailoutbox: list[mail.EmailMultiAlternatives]
) -> None:
    make(world, private)
    message = sent(world)
    (letter,) = mailoutbox
    assert letter.to == ["rook@example.org"]
    assert letter.extra_headers["Message-ID"] == message.message_id
    for words in (
        "Nether Wrack School",
        "£66.00",
        "6 × child of 9 to 12",
        "2 leaders of your own",
        "100 % back",
        "30 September 2026",
    ):
        assert words in " ".join(letter.body.split())
        assert words in words_of(letter.alternatives[0][0].encode())
    assert client.get(link_in(letter.body)).status_code == 200
    assert message.as_sent is not None
    assert "/quote/…/" in message.as_sent
    assert link_in(letter.body) not in message.as_sent


def test_the_office_writes_its_words(world: World, private: Offering, olive: Client, mailoutbox: list) -> None:
    make(world, private)
    address = reverse("staff_letter_text", args=["quote"])
    assert olive.post(address, {"subject": "x", "body": "{code}", "keep": ""}).status_code == 422
    olive.post(address, {"subject": "For {walk_title}", "body": "Dear {group}, {amount}.", "keep": ""})
    sent(world)
    assert mailoutbox[0].subject == "For For the school"
    assert "Dear Nether Wrack School, £66.00." in mailoutbox[0].body


@pytest.mark.parametrize("fate", ["withdrawn", "replaced", "accepted", "ran out", "forgotten"])
def test_what_no_longer_holds_is_not_sent(world: World, private: Offering, mailoutbox: list, fate: str) -> None:
    quote, now = make(world, private), world.now
    first = quote.messages.get()
    match fate:
        case "withdrawn":
            withdraw_quote(quote, by=world.olive, now=now)
        case "replaced":
            make(world, private, children=5, made_at=now + timedelta(minutes=1))
            quote.messages.model.objects.exclude(pk=first.pk).update(due_at=now + timedelta(days=1))
            type(quote).objects.filter(pk=quote.pk).update(made_at=now - timedelta(minutes=1))
        case "accepted":
            booking = accept_quote(quote, by="participant", now=now)
            booking.messages.update(due_at=now + timedelta(days=1))
        case "ran out":
            now += timedelta(days=17)
        case "forgotten":
            now += timedelta(days=370)
            forget_enquiries(now=now)
    send_next_message(now=now)
    first.refresh_from_db()
    assert first.done_at == now
    assert first.not_needed
    assert mailoutbox == []


def test_sent_again_only_the_last_of_two_that_wait_goes_out(world: World, private: Offering, mailoutbox: list) -> None:
    quote = make(world, private)
    send_quote_again(quote, by=world.olive, now=world.now)
    assert [bool(sent(world).not_needed) for _ in range(2)] == [True, False]
    assert len(mailoutbox) == 1
    send_quote_again(quote, by=world.olive, now=world.now)
    sent(world)
    assert len(mailoutbox) == 2
    assert len({one.message_id for one in OutboxMessage.objects.all()}) == 3


def test_a_closed_quote_is_neither_withdrawn_nor_sent_again(world: World, private: Offering) -> None:
    quote = make(world, private)
    withdraw_quote(quote, by=world.olive, now=world.now)
    for act in (withdraw_quote, send_quote_again, accept_quote):
        with pytest.raises(NotQuoted, match="withdrawn"):
            act(quote, by=world.olive, now=world.now)
    assert Booking.objects.count() == 0


def test_a_letter_that_came_back_stands_on_today_and_goes_out_again(
    world: World, private: Offering, olive: Client, mailoutbox: list
) -> None:
    make(world, private)
    message = sent(world)

    class Report:
        message_id, status = message.message_id, "5.1.1"

    assert note_bounce(Report, by="command", now=world.now)
    page = reverse("staff_message", args=[message.public_id])
    assert page in olive.get(reverse("staff_today")).text
    assert "rook@example.org" in olive.get(page).text
    assert "Nether Wrack School" in olive.get(reverse("staff_outbox") + "?sort=walk").text
    retry_message(message, by=world.olive, now=world.now)
    sent(world)
    assert [one.extra_headers["Message-ID"] for one in mailoutbox] == [message.message_id] * 2
    assert AuditLine.objects.filter(act="send letter again", object_kind="GroupEnquiry").exists()


def test_a_message_is_of_a_booking_or_of_a_quote(world: World, private: Offering) -> None:
    quote = make(world, private)
    booking = accept_quote(quote, by="participant", now=world.now)
    for wrong in ({"booking": booking}, {"contact": booking.party.contact}, {"quote": None}):
        with pytest.raises(IntegrityError), transaction.atomic():
            OutboxMessage.objects.filter(pk=quote.messages.get().pk).update(**wrong)


def test_another_asker_gets_the_open_quote_and_the_old_links_are_shut(
    world: World, private: Offering, client: Client, olive: Client, mailoutbox: list
) -> None:
    quote = make(world, private)
    sent(world)
    old = link_in(mailoutbox[0].body)
    enquiry = quote.enquiry
    page = reverse("staff_group_contact", args=[enquiry.public_id])
    seen = re.search(r'name="seen" value="(\w+)"', olive.get(page).text)
    assert seen
    form = {"seen": seen[1], "name": "Ned Heron", "email": "heron@example.org", "phone": ""}
    assert olive.post(page, form | {"email": ""}).status_code == 422
    assert olive.post(page, form).status_code == 302
    assert olive.post(page, form).status_code == 409
    sent(world)
    assert mailoutbox[1].to == ["heron@example.org"]
    assert client.get(old).status_code == 410
    assert client.get(link_in(mailoutbox[1].body)).status_code == 200
    with pytest.raises(NotChanged, match="what we have already"):
        change_asker(enquiry, NewContact("Ned Heron", "heron@example.org", ""), by=world.olive, now=world.now)


def test_what_is_kept_of_an_enquiry_is_handed_out_and_erased(
    world: World, private: Offering, olive: Client, client: Client, mailoutbox: list
) -> None:
    quote = make(world, private)
    sent(world)
    enquiry = quote.enquiry
    found = json.loads(olive.post(reverse("staff_group_export", args=[enquiry.public_id])).content)
    assert (found["email"], len(found["letters"]), len(found["quotes"])) == ("rook@example.org", 1, 1)
    assert "Nether Wrack School" in found["letters"][0]["text"]
    address = reverse("staff_group_erase", args=[enquiry.public_id])
    olive.post(address, {"reason": ""})
    enquiry.refresh_from_db()
    assert enquiry.name
    say_yes(olive, address, {"reason": "by telephone, 14 September"})
    enquiry.refresh_from_db()
    assert (enquiry.name, enquiry.email, enquiry.phone) == ("", "", "")
    assert OutboxMessage.objects.get().as_sent is None
    assert client.get(link_in(mailoutbox[0].body)).status_code == 410
    GroupEnquiry.objects.update(name="Tamsin Rook", forgotten_at=None)
    assert [erase_again(one, now=world.now) for one in tombstones.tombstones()] == [True]
    assert GroupEnquiry.objects.get().name == ""


def test_an_enquiry_is_not_erased_under_a_walk_to_come_and_goes_with_its_booking(
    world: World, private: Offering, mailoutbox: list
) -> None:
    quote = make(world, private)
    sent(world)
    booking = accept_quote(quote, by="participant", now=world.now)
    with pytest.raises(NotErased, match="still to come"):
        erase_enquiry(quote.enquiry, reason="asked", by=world.olive, now=world.now)
    cancel_booking(booking, by="participant", now=world.now)
    erase_party(booking, reason="asked", by=world.olive, now=world.now)
    assert GroupEnquiry.objects.get().email == ""
    assert not OutboxMessage.objects.filter(as_sent__isnull=False).exists()


def test_an_enquiry_of_a_year_ago_keeps_no_letter(world: World, private: Offering, mailoutbox: list) -> None:
    make(world, private, valid_until=date(2026, 9, 30))
    sent(world)
    forget_enquiries(now=world.now + timedelta(days=365))
    assert OutboxMessage.objects.get().as_sent is None


def test_the_office_withdraws_and_sends_again_by_buttons(
    world: World, private: Offering, olive: Client, client: Client, mailoutbox: list
) -> None:
    quote = make(world, private)
    sent(world)
    page = reverse("staff_group", args=[quote.enquiry.public_id])
    with time_machine.travel(world.now, tick=False):
        olive.post(reverse("staff_quote_again", args=[quote.public_id]))
        assert "waiting" in olive.get(page).text
        say_yes(olive, reverse("staff_quote_withdraw", args=[quote.public_id]))
        assert "withdrawn" in olive.get(page).text
        assert "quote withdrawn" in olive.get(reverse("staff_groups")).text
        there = link_in(mailoutbox[0].body)
        assert "We withdrew this quote" in client.get(there).text
        assert client.post(there, {"rules": "on"}).status_code == 409


@pytest.mark.parametrize(("hour", "told"), [(22, True), (23, False)])
def test_when_the_walk_is_called_off_its_last_day_goes_by_the_clock_of_the_walk(
    world: World, private: Offering, hour: int, told: bool
) -> None:
    """A quote until 30 September: 22:30 UTC is half past eleven in the evening there, 23:30 UTC the next day."""
    make(world, private)
    at = datetime(2026, 9, 30, hour, 30, tzinfo=UTC)
    call_off_walk(private, why="Storm.", by=world.olive, now=at)
    assert OutboxMessage.objects.filter(kind=OutboxMessage.Kind.QUOTE_CLOSED).exists() is told
