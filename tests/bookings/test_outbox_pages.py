"""The office's letters: their states, the text as sent without its links, what a person does with a failure."""

from __future__ import annotations

import io
import mailbox
import sys
from datetime import timedelta
from email import message_from_string
from pathlib import Path
from types import SimpleNamespace

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.test import Client
from pytest_django import Settings

from bookings.models import Booking, OutboxMessage, PaperLetter
from bookings.outbox_states import STATES, needing_a_person, state_of
from bookings.services.book_places import book_places
from bookings.services.erase import _erase_names
from bookings.services.send_messages import send_next_message
from foraywright.floor.acts import act
from tests.cast import World

REPORT = """From: mailer@example.net
To: office@example.org
Message-ID: <report@example.net>
MIME-Version: 1.0
Content-Type: multipart/report; report-type=delivery-status; boundary="b"

--b
Content-Type: text/plain

It could not be delivered.
--b
Content-Type: message/delivery-status

Reporting-MTA: dns; mx.example.net

Final-Recipient: rfc822; pat@example.org
Action: {action}
Status: 5.1.1

--b
Content-Type: {returned}

Message-ID: {message_id}
Subject: Your places are booked

--b--
"""


@pytest.fixture
def booking(world: World) -> Booking:
    return book_places(world.order(), by="participant", now=world.now)


def given_up(world: World) -> OutboxMessage:
    OutboxMessage.objects.update(given_up_at=world.now, last_error="The mail server refused the address (550).")
    return OutboxMessage.objects.get()


def read(monkeypatch: pytest.MonkeyPatch, text: str) -> str:
    monkeypatch.setattr(sys, "stdin", SimpleNamespace(buffer=io.BytesIO(text.encode())))
    out = io.StringIO()
    call_command("read_bounces", stdout=out)
    return out.getvalue().strip()


CASES = {
    "waiting": {},
    "trying": {"last_error": "x"},
    "person": {"given_up_at": "now", "last_error": "x"},
    "sent": {"done_at": "now"},
    "post": {"done_at": "now"},
    "not_needed": {"done_at": "now", "not_needed": "x"},
    "handled": {"given_up_at": "now", "handled_at": "now", "handled_why": "x"},
}


@pytest.mark.parametrize("state", STATES)
def test_a_message_is_in_one_state_alone(booking: Booking, world: World, state: str) -> None:
    OutboxMessage.objects.update(**{key: world.now if to == "now" else to for key, to in CASES[state].items()})
    message = OutboxMessage.objects.get()
    if state == "post":
        PaperLetter.objects.create(message=message, laid_out_at=world.now)
    assert state_of(message) == state
    assert [key for key, (_, rule) in STATES.items() if OutboxMessage.objects.filter(rule).exists()] == [state]


def test_what_was_sent_is_shown_without_the_key_to_the_booking(booking: Booking, world: World, olive: Client) -> None:
    send_next_message(now=world.now)
    message = OutboxMessage.objects.get()
    page = olive.get(f"/staff/letters/sent/{message.public_id}/").content.decode()
    assert "Your places are booked: The bare wood" in page
    assert "/booking/…/" in page
    assert message.as_sent.count("/booking/") == message.as_sent.count("/booking/…/") == 2


def test_what_was_sent_is_erased_with_the_names(booking: Booking, world: World) -> None:
    send_next_message(now=world.now)
    act(_erase_names)(booking, now=world.now)
    assert OutboxMessage.objects.get().as_sent is None


def test_the_list_is_filtered_and_paged(booking: Booking, world: World, olive: Client) -> None:
    one = OutboxMessage.objects.get()
    OutboxMessage.objects.bulk_create(
        OutboxMessage(
            kind="new_link",
            contact=one.contact,
            booking=booking,
            version=number,
            message_id=f"<{number}@x>",
            written_at=world.now + timedelta(minutes=number),
            due_at=world.now,
            done_at=world.now,
        )
        for number in range(45)
    )
    assert "Page 1 of 2, 46 letters" in olive.get("/staff/letters/").content.decode()
    waiting = olive.get("/staff/letters/?state=waiting").content.decode()
    assert waiting.count("/staff/letters/sent/") == 1
    assert "Page 1 of 2, 45 letters" in olive.get("/staff/letters/?kind=new_link").content.decode()
    assert "No letter is like that." in olive.get("/staff/letters/?state=handled").content.decode()


def test_a_given_up_letter_goes_out_again_under_its_message_id(
    booking: Booking, world: World, olive: Client, settings: Settings
) -> None:
    before = given_up(world)
    olive.post(f"/staff/letters/sent/{before.public_id}/again/")
    after = OutboxMessage.objects.get()
    assert (state_of(after), after.attempts, after.message_id) == ("waiting", 0, before.message_id)
    assert send_next_message(now=after.due_at) == after


def test_a_given_up_letter_stands_on_today_with_the_way_to_where_it_is_dealt_with(
    booking: Booking, world: World, olive: Client
) -> None:
    message = given_up(world)
    page = olive.get("/staff/").content.decode()
    assert "A letter (confirmation) could not be sent." in page
    assert f'href="/staff/letters/sent/{message.public_id}/"' in page
    olive.post(f"/staff/letters/sent/{message.public_id}/handled/", {"how": "Told on the telephone"})
    assert "could not be sent" not in olive.get("/staff/").content.decode()


def test_handled_otherwise_says_how(booking: Booking, world: World, olive: Client) -> None:
    address = f"/staff/letters/sent/{given_up(world).public_id}/handled/"
    assert olive.post(address, {"how": " "}).status_code == 422
    assert needing_a_person().exists()
    olive.post(address, {"how": "telephoned on Monday"})
    assert not needing_a_person().exists()
    assert OutboxMessage.objects.get().handled_why == "telephoned on Monday"


def test_a_letter_that_needs_nobody_is_left_alone(booking: Booking, world: World, olive: Client) -> None:
    message = OutboxMessage.objects.get()
    answer = olive.post(f"/staff/letters/sent/{message.public_id}/handled/", {"how": "x"})
    assert "does not wait for a person any more" in answer.content.decode()
    assert state_of(OutboxMessage.objects.get()) == "waiting"


@pytest.mark.parametrize("returned", ["message/rfc822", "text/rfc822-headers"])
def test_a_report_marks_the_letter_and_today_says_so(
    booking: Booking, world: World, olive: Client, monkeypatch: pytest.MonkeyPatch, returned: str
) -> None:
    send_next_message(now=world.now)
    sent = OutboxMessage.objects.get()
    text = REPORT.format(action="failed", returned=returned, message_id=sent.message_id)
    assert read(monkeypatch, text) == "1 mails, 1 failures, 1 of them letters of ours."
    message = OutboxMessage.objects.get()
    assert (state_of(message), message.bounce_status) == ("person", "5.1.1")
    assert "A letter (confirmation) came back." in olive.get("/staff/").content.decode()
    assert "came back" in olive.get(f"/staff/bookings/{booking.code}/").content.decode()


@pytest.mark.parametrize(
    ("action", "message_id", "said"),
    [
        ("delayed", None, "1 mails, 0 failures, 0 of them letters of ours."),
        ("failed", "<other@example.org>", "1 mails, 1 failures, 0 of them letters of ours."),
    ],
)
def test_a_delay_or_a_stranger_marks_nothing(
    booking: Booking, monkeypatch: pytest.MonkeyPatch, action: str, message_id: str | None, said: str
) -> None:
    ours = OutboxMessage.objects.get().message_id
    text = REPORT.format(action=action, returned="message/rfc822", message_id=message_id or ours)
    assert read(monkeypatch, text) == said
    assert not needing_a_person().exists()


@pytest.mark.parametrize("text", ["", "\0\xff", "Subject: out of office\n\nI am away.", REPORT[:300]])
def test_what_is_no_report_is_passed_over(booking: Booking, monkeypatch: pytest.MonkeyPatch, text: str) -> None:
    assert read(monkeypatch, text) == "1 mails, 0 failures, 0 of them letters of ours."


def test_a_mailbox_is_read_whole_and_twice_is_once(booking: Booking, world: World, tmp_path: Path) -> None:
    send_next_message(now=world.now)
    ours = OutboxMessage.objects.get().message_id
    box = mailbox.mbox(tmp_path / "reports")
    for action in ("delayed", "failed"):
        box.add(message_from_string(REPORT.format(action=action, returned="message/rfc822", message_id=ours)))
    box.flush()
    for _ in range(2):
        out = io.StringIO()
        call_command("read_bounces", str(tmp_path / "reports"), stdout=out)
        assert out.getvalue().strip() == "2 mails, 1 failures, 1 of them letters of ours."
    assert needing_a_person().count() == 1
    with pytest.raises(CommandError, match="Nothing was read"):
        call_command("read_bounces", str(tmp_path / "elsewhere"))
