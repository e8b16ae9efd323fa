"""The outbox against a real mail server: accepted, refused, out of order, and never about what is no longer true."""

from __future__ import annotations

import socket
import threading
from datetime import datetime, timedelta

import pytest
from django.core.files.base import ContentFile
from django.core.mail import EmailMessage
from django.db import connection
from pytest_django import Settings

from bookings.models import Booking, Delivery, OutboxMessage
from bookings.services.book_places import book_places
from bookings.services.call_off_walk import call_off_walk
from bookings.services.cancel_booking import cancel_booking
from bookings.services.erase import erase_party
from bookings.services.send_messages import send_next_message
from curriculum.models import Document
from foraywright.floor.leases import LEASE, RETRY_AFTER
from tests.bookings.mail_server import mail_server
from tests.cast import World
from walks.models import Offering, Walk

MINUTE = timedelta(minutes=1)


@pytest.fixture
def booking(real_world: World) -> Booking:
    return book_places(real_world.order(), by="participant", now=real_world.now)


@pytest.fixture(autouse=True)
def _by_smtp(settings: Settings) -> None:
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST = "127.0.0.1"
    settings.EMAIL_TIMEOUT = 5


def send(settings: Settings, port: int, now: datetime) -> OutboxMessage | None:
    settings.EMAIL_PORT = port
    message = send_next_message(now=now)
    if message is not None:
        message.refresh_from_db()
    return message


def test_sends_it_once(booking: Booking, now: datetime, settings: Settings) -> None:
    with mail_server() as (port, handler):
        message = send(settings, port, now)
        assert send(settings, port, now + 10 * LEASE) is None
    assert message is not None
    assert message.done_at == now
    assert message.lease_until is None
    (received,) = handler.accepted
    assert received["Message-ID"] == message.message_id
    assert received["To"] == "pat@example.org"


def test_nothing_due_sends_nothing(real_world: World, now: datetime) -> None:
    assert send_next_message(now=now) is None


REFUSALS = [
    ("451 later", "The mail server refused the message (451)."),
    ("550 never", "The mail server refused the message (550)."),
    ("RCPT 451 grey", "The mail server refused the address (451)."),
    ("hang up", "The mail server broke off (SMTPServerDisconnected)."),
]


@pytest.mark.parametrize(("answer", "words"), REFUSALS)
def test_a_refusal_is_put_off_and_sent_later_under_the_same_message_id(
    booking: Booking, now: datetime, settings: Settings, answer: str, words: str
) -> None:
    with mail_server(answer) as (port, handler):
        first = send(settings, port, now)
        assert first is not None
        assert first.last_error == words
        assert (first.done_at, first.lease_until) == (None, None)
        assert now + 0.8 * RETRY_AFTER[0] <= first.due_at <= now + RETRY_AFTER[0]
        assert handler.accepted == []
        assert send(settings, port, now) is None
        again = send(settings, port, now + RETRY_AFTER[0])
    assert again is not None
    assert again.done_at == now + RETRY_AFTER[0]
    assert again.last_error == ""
    assert [one["Message-ID"] for one in handler.accepted] == [first.message_id]


def test_a_lost_acknowledgement_sends_again_under_the_same_message_id(
    booking: Booking, now: datetime, settings: Settings
) -> None:
    with mail_server("accept and die") as (port, handler):
        send(settings, port, now)
        send(settings, port, now + RETRY_AFTER[0])
    assert len(handler.accepted) == 2
    assert len({one["Message-ID"] for one in handler.accepted}) == 1


def test_no_mail_server_is_put_off(booking: Booking, now: datetime, settings: Settings) -> None:
    with socket.socket() as unused:
        unused.bind(("127.0.0.1", 0))
        message = send(settings, unused.getsockname()[1], now)
    assert message is not None
    assert message.last_error == "The mail server could not be reached (ConnectionRefusedError)."


def test_given_up_in_the_end_for_a_person_to_see(booking: Booking, now: datetime, settings: Settings) -> None:
    with mail_server(*["550 never"] * 20) as (port, handler):
        for _ in range(len(RETRY_AFTER) + 1):
            message = send(settings, port, now)
            assert message is not None
            now = message.due_at
        assert send(settings, port, now + timedelta(days=30)) is None
    assert message.given_up_at is not None
    assert handler.accepted == []


NO_SUCH = "RCPT 550 no pat@example.org here"


def test_an_address_that_is_refused_for_good_goes_to_a_person_at_once(
    booking: Booking, now: datetime, settings: Settings
) -> None:
    with mail_server(NO_SUCH) as (port, handler):
        message = send(settings, port, now)
        assert send(settings, port, now + timedelta(days=30)) is None
    assert message is not None
    assert (message.given_up_at, message.last_error) == (now, "The mail server refused the address (550).")
    assert handler.accepted == []


@pytest.mark.parametrize("answer", [NO_SUCH, *(answer for answer, _ in REFUSALS)])
def test_errors_hold_nothing_personal(
    booking: Booking, now: datetime, settings: Settings, caplog: pytest.LogCaptureFixture, answer: str
) -> None:
    with mail_server(answer) as (port, _):
        message = send(settings, port, now)
    assert message is not None
    for word in ("pat@", "Pat", "Partridge", booking.code):
        assert word not in message.last_error + caplog.text


def test_a_letter_that_cannot_be_written_lets_the_others_go(
    booking: Booking, real_world: World, now: datetime, settings: Settings
) -> None:
    another = book_places(real_world.order(), by="participant", now=now + MINUTE)
    booking.messages.update(kind=OutboxMessage.Kind.PAYMENT, version=10**6)
    with mail_server() as (port, handler):
        first, second = (send(settings, port, now + MINUTE) for _ in range(2))
    assert first is not None
    assert first.booking == booking
    assert first.last_error == "The letter could not be written (DoesNotExist)."
    assert second is not None
    assert second.booking == another
    assert len(handler.accepted) == 1


def test_a_confirmation_of_a_cancelled_booking_is_never_sent(
    booking: Booking, now: datetime, settings: Settings
) -> None:
    cancel_booking(booking, by="participant", now=now)
    with mail_server() as (port, handler):
        first, second = send(settings, port, now), send(settings, port, now)
    assert first is not None
    assert second is not None
    assert (first.kind, first.not_needed, first.done_at) == ("confirmation", "The booking is cancelled.", now)
    assert (second.kind, second.not_needed) == ("cancelled", "")
    assert [one["Subject"].split(":")[0] for one in handler.accepted] == ["Your booking is cancelled"]


def test_a_confirmation_of_a_called_off_walk_is_never_sent(
    booking: Booking, real_world: World, now: datetime, settings: Settings
) -> None:
    call_off_walk(real_world.offering, why="Storm.", by=real_world.olive, now=now)
    with mail_server() as (port, handler):
        while send(settings, port, now):
            pass
    assert [one["Subject"].split(":")[0] for one in handler.accepted] == ["Called off"]


def test_called_off_while_the_confirmation_waits_for_its_retry(
    booking: Booking, real_world: World, now: datetime, settings: Settings
) -> None:
    with mail_server("451 later") as (port, handler):
        send(settings, port, now)
        call_off_walk(real_world.offering, why="Storm.", by=real_world.olive, now=now)
        while send(settings, port, now + RETRY_AFTER[0]):
            pass
    assert [one["Subject"].split(":")[0] for one in handler.accepted] == ["Called off"]


def test_a_walk_called_off_with_the_booking_still_confirmed(booking: Booking, now: datetime) -> None:
    Offering.objects.update(state=Offering.State.CALLED_OFF, called_off_at=now)
    message = send_next_message(now=now)
    assert message is not None
    message.refresh_from_db()
    assert message.not_needed == "The walk is called off."


def booklet(walk: Walk, now: datetime, *, ready: bool, key: str) -> Document:
    document = Document.objects.create(
        kind=Document.Kind.BOOKLET,
        subject_id=walk.public_id,
        manifest={},
        manifest_hash=key * 64,
        wanted_at=now,
        due_at=now + timedelta(days=1),
    )
    if ready:
        document.file.save("b.pdf", ContentFile(b"%PDF"), save=False)
        document.done_at = now
        document.save()
    return document


def test_a_confirmation_is_noted_as_delivery_of_the_newest_ready_booklet(
    booking: Booking, real_world: World, now: datetime, settings: Settings
) -> None:
    booklet(real_world.walk, now, ready=True, key="a")
    newest = booklet(real_world.walk, now + MINUTE, ready=True, key="b")
    booklet(real_world.walk, now + 2 * MINUTE, ready=False, key="c")
    with mail_server("451 later") as (port, _):
        send(settings, port, now)
        assert not Delivery.objects.exists()
        send(settings, port, now + RETRY_AFTER[0])
    (delivery,) = Delivery.objects.all()
    assert (delivery.document, delivery.booking, delivery.channel) == (newest, booking, "mail")
    assert delivery.at == now + RETRY_AFTER[0]


def test_without_a_booklet_nothing_is_noted(booking: Booking, now: datetime, settings: Settings) -> None:
    with mail_server() as (port, _):
        send(settings, port, now)
    assert not Delivery.objects.exists()


@pytest.mark.database
def test_two_workers_at_once_send_each_message_once(real_world: World, now: datetime, settings: Settings) -> None:
    for _ in range(6):
        book_places(real_world.order("adult"), by="participant", now=now)

    def work() -> None:
        try:
            barrier.wait()
            while send_next_message(now=now):
                pass
        except BaseException as fault:
            faults.append(fault)
        finally:
            connection.close()

    faults: list[BaseException] = []
    barrier = threading.Barrier(2)
    with mail_server() as (port, handler):
        settings.EMAIL_PORT = port
        workers = [threading.Thread(target=work) for _ in range(2)]
        for one in workers:
            one.start()
        for one in workers:
            one.join()
    assert faults == []
    assert sorted(one["Message-ID"] for one in handler.accepted) == sorted(
        OutboxMessage.objects.values_list("message_id", flat=True)
    )
    assert OutboxMessage.objects.filter(done_at=now, attempts=1).count() == 6


def test_what_was_erased_while_a_letter_was_on_its_way_is_not_kept_again(
    booking: Booking, real_world: World, now: datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    cancel_booking(booking, by="participant", now=now)

    def accepted_slowly(mail: EmailMessage) -> int:
        erase_party(booking, reason="asked", by=real_world.olive, now=now)
        return 1

    monkeypatch.setattr(EmailMessage, "send", accepted_slowly)
    while send_next_message(now=now):
        if booking.messages.filter(as_sent__isnull=False).exists():
            break
    assert booking.messages.filter(done_at__isnull=False, not_needed="").exists(), "else nothing was on its way"
    assert not booking.messages.filter(as_sent__isnull=False).exists()
