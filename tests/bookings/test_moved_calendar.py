"""Who moved to another walk: the letter strikes the earlier one out of the calendar, under its UID and never older."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import timedelta
from email.message import EmailMessage

import icalendar
import pytest
import vobject
from pytest_django import Settings

from bookings.models import Booking, OutboxMessage
from bookings.own_calendar import own_calendar
from bookings.services.book_places import book_places
from bookings.services.call_off_walk import call_off_walk
from bookings.services.move_booking import move_booking, move_terms
from bookings.services.record_payment import record_payment
from bookings.services.send_messages import send_next_message
from foraywright.floor.ids import new_secret
from tests.bookings.mail_server import mail_server
from tests.cast import WALK_DAY, World
from walks.models import Offering, Walk
from walks.services.publish_walk import publish_walk
from walks.services.schedule_walk import schedule_walk

Event = tuple[str, int]
Reader = Callable[[bytes], dict[str, Event]]


def another(world: World, title: str, *weeks: int) -> Offering:
    sessions = [world.session(local_date=WALK_DAY + timedelta(weeks=week)) for week in weeks]
    draft = schedule_walk(world.plan(*sessions, title=title), by=world.olive, now=world.now)
    return publish_walk(draft, by=world.olive, now=world.now)


def move(booking: Booking, to: Offering, world: World) -> Booking:
    terms = move_terms(booking, to, now=world.now).mark
    return move_booking(booking, to, terms=terms, key=new_secret(), by="participant", now=world.now)


def by_icalendar(content: bytes) -> dict[str, Event]:
    events = icalendar.Calendar.from_ical(content).walk("VEVENT")
    return {str(one["UID"]): (str(one["STATUS"]), int(one["SEQUENCE"])) for one in events}


def by_vobject(content: bytes) -> dict[str, Event]:
    events = vobject.readOne(content.decode("utf-8")).vevent_list
    return {one.uid.value: (one.status.value, int(one.sequence.value)) for one in events}


def states(content: bytes) -> dict[str, str]:
    return {uid: status for uid, (status, _) in by_icalendar(content).items()}


def uids(walks: Sequence[Walk]) -> list[str]:
    return [walk.calendar_uid for walk in walks]


@pytest.fixture
def booking(world: World) -> Booking:
    return book_places(world.order(), by="participant", now=world.now)


@pytest.mark.parametrize("read", [by_icalendar, by_vobject])
def test_the_earlier_walk_is_cancelled_under_its_uid_with_a_higher_sequence(
    world: World, booking: Booking, read: Reader
) -> None:
    before = read(own_calendar(booking))
    to = another(world, "Another", 1)
    moved = own_calendar(move(booking, to, world))
    after, uid = read(moved), world.walk.calendar_uid
    assert before == {uid: ("CONFIRMED", before[uid][1])}
    assert after[uid][0] == "CANCELLED"
    assert after[uid][1] > before[uid][1]
    assert after[to.walks.get().calendar_uid][0] == "CONFIRMED"
    assert b"Your booking is moved to another walk: The bare wood" in moved.replace(b"\r\n ", b"")


def test_who_moves_back_has_the_walk_again(world: World, booking: Booking) -> None:
    to, first = another(world, "Another", 1), world.offering
    there = by_icalendar(own_calendar(move(booking, to, world)))
    back = by_icalendar(own_calendar(move(booking, first, world)))
    uid, other = world.walk.calendar_uid, to.walks.get().calendar_uid
    assert (back[uid][0], back[other][0]) == ("CONFIRMED", "CANCELLED")
    assert back[uid][1] > there[uid][1]
    assert back[other][1] > there[other][1]


def test_of_a_course_each_session_is_struck_out(world: World, booking: Booking) -> None:
    course, last = another(world, "Course", 1, 2), another(world, "Last", 4)
    move(booking, course, world)
    told = states(own_calendar(move(booking, last, world)))
    gone = [world.walk.calendar_uid, *uids(course.walks.all())]
    assert told == dict.fromkeys(gone, "CANCELLED") | {last.walks.get().calendar_uid: "CONFIRMED"}


def test_a_walk_that_we_called_off_is_told_as_that(world: World, booking: Booking) -> None:
    record_payment(booking, into="cash", amount_minor=1000, by=world.olive, now=world.now)
    call_off_walk(world.offering, why="Storm.", by=world.olive, now=world.now)
    before = by_icalendar(own_calendar(Booking.objects.get()))
    told = own_calendar(move(Booking.objects.get(), another(world, "Another", 1), world))
    uid = world.walk.calendar_uid
    assert by_icalendar(told)[uid] == ("CANCELLED", before[uid][1] + 1)
    assert b"SUMMARY:Called off: The bare wood" in told


def test_the_letter_carries_it_over_a_real_mail_server(real_world: World, settings: Settings) -> None:
    world = real_world
    settings.EMAIL_BACKEND, settings.EMAIL_HOST = "django.core.mail.backends.smtp.EmailBackend", "127.0.0.1"
    booking = book_places(world.order(), by="participant", now=world.now)
    to = another(world, "Another", 1)
    move(booking, to, world)
    with mail_server() as (settings.EMAIL_PORT, handler):
        while send_next_message(now=world.now):
            pass
    message = OutboxMessage.objects.get(kind=OutboxMessage.Kind.MOVED)
    (letter,) = [one for one in handler.accepted if one["Message-ID"] == message.message_id]
    assert "marks the earlier walk as cancelled" in " ".join(plain(letter).split())
    (part,) = [one for one in letter.walk() if one.get_content_type() == "text/calendar"]
    assert part.get_param("method") == "PUBLISH"
    told = states(part.get_payload(decode=True))
    assert told == {world.walk.calendar_uid: "CANCELLED", to.walks.get().calendar_uid: "CONFIRMED"}


def plain(letter: EmailMessage) -> str:
    body = letter.get_body(("plain",))
    assert body is not None
    return str(body.get_content())
