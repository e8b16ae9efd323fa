"""What the letters say, in both forms, and what they must not say."""

from __future__ import annotations

import re
from datetime import date, timedelta
from email.message import EmailMessage
from email.parser import BytesParser
from email.policy import default

import icalendar
import pytest
from bs4 import BeautifulSoup
from django.core.mail import EmailMultiAlternatives
from django.test import Client
from stdnum import iso11649

from bookings.letters import letter
from bookings.models import Booking, OutboxMessage
from bookings.services.book_places import book_places
from bookings.services.call_off_walk import call_off_walk
from bookings.services.cancel_booking import cancel_booking
from bookings.services.record_payment import record_payment
from bookings.services.send_new_link import send_new_link
from foraywright.floor.models import Business, LinkSecret
from tests.cast import World
from walks.models import Offering
from walks.services.publish_walk import publish_walk
from walks.services.schedule_walk import schedule_walk

Kind = OutboxMessage.Kind


@pytest.fixture
def booking(world: World) -> Booking:
    Business.objects.update(bank_details="Cast and Company\n00-00-00 12345678")
    return book_places(world.order("adult", "adult", "4-8"), by="participant", now=world.now)


def written(booking: Booking, kind: str, world: World) -> EmailMultiAlternatives:
    return letter(OutboxMessage.objects.get(booking=booking, kind=kind), now=world.now)


def as_received(mail: EmailMultiAlternatives) -> EmailMessage:
    return BytesParser(policy=default).parsebytes(mail.message().as_bytes())  # type: ignore[return-value]


def html_text(mail: EmailMultiAlternatives) -> str:
    return BeautifulSoup(mail.alternatives[0][0], "html.parser").get_text(" ")


def squeezed(text: str) -> str:
    return " ".join(text.split())


def link_in(mail: EmailMultiAlternatives) -> str:
    found = re.search(r"https://walks\.example\.org(/booking/[^/\s]+/)", mail.body)
    assert found
    return found[1]


CONFIRMED = [
    "The bare wood",
    "Saturday 3 October 2026",
    "10 am to 1 pm",
    "the east gate, Cast Wood",
    "SU 387 148",
    "2 × adult",
    "1 × child of 4 to 8",
    "£45.00",
    "by Monday 21 September 2026",
    "00-00-00 12345678",
    "100 % back 14 days or more before; 50 % back 7 days or more before; after that nothing.",
    "no licence to eat",
    "01632 960 100",
]


@pytest.mark.parametrize("words", CONFIRMED)
def test_confirmation_says_it_in_both_forms(booking: Booking, world: World, words: str) -> None:
    mail = written(booking, Kind.CONFIRMATION, world)
    assert words in squeezed(mail.body)
    assert words in squeezed(html_text(mail))


def test_the_reference_is_a_creditor_reference(booking: Booking, world: World) -> None:
    body = written(booking, Kind.CONFIRMATION, world).body
    (found,) = re.findall(r"^RF\d\d [A-Z0-9 ]+$", body, re.MULTILINE)
    assert iso11649.is_valid(found)
    assert booking.code in found.replace(" ", "")


def test_near_the_walk_one_pays_at_the_meeting_point(world: World) -> None:
    late = world.walk.starts_at - timedelta(days=2)
    booking = book_places(world.order(), by="participant", now=late)
    body = written(booking, Kind.CONFIRMATION, world).body
    assert "Please pay £36.00 at the meeting point." in body
    assert "RF" not in body


def test_a_paid_booking_is_asked_for_nothing(booking: Booking, world: World) -> None:
    record_payment(booking, into="bank", amount_minor=4500, by=world.olive, now=world.now)
    body = written(booking, Kind.CONFIRMATION, world).body
    assert "Nothing is left to pay." in body
    assert "Please pay" not in body


def test_the_link_opens_the_booking_until_sixty_days_after_the_last_walk(booking: Booking, world: World) -> None:
    written(booking, Kind.CONFIRMATION, world)
    (link,) = LinkSecret.objects.all()
    assert link.scope == booking.public_id
    assert link.expires_at == world.walk.ends_at + timedelta(days=60)


def test_called_off_says_so_first_with_reason_and_money(booking: Booking, world: World) -> None:
    record_payment(booking, into="bank", amount_minor=4500, by=world.olive, now=world.now)
    call_off_walk(world.offering, why="storm damage", by=world.olive, now=world.now)
    mail = written(booking, Kind.CALLED_OFF, world)
    assert mail.subject == "Called off: The bare wood, Saturday 3 October 2026"
    assert mail.body.startswith("CALLED OFF: The bare wood. Please do not come.")
    for form in (mail.body, html_text(mail)):
        assert "We had to call it off: Storm damage." in squeezed(form)
        assert "£45.00 goes back to you, by the way it came. You owe nothing." in squeezed(form)


def test_called_off_and_never_paid(booking: Booking, world: World) -> None:
    call_off_walk(world.offering, why="storm damage", by=world.olive, now=world.now)
    assert "You had paid nothing. You owe nothing." in squeezed(written(booking, Kind.CALLED_OFF, world).body)


@pytest.mark.parametrize(
    ("days_before", "words"),
    [
        (14, "£45.00 goes back to you, by the way it came. You owe nothing."),
        (7, "£22.50 goes back to you, by the way it came. You owe nothing."),
        (1, "Of the £45.00 that you paid nothing goes back. You owe nothing."),
    ],
)
def test_cancelled_says_what_comes_back(booking: Booking, world: World, days_before: int, words: str) -> None:
    record_payment(booking, into="bank", amount_minor=4500, by=world.olive, now=world.now)
    cancel_booking(booking, by="participant", now=world.walk.starts_at - timedelta(days=days_before))
    mail = written(booking, Kind.CANCELLED, world)
    assert words in squeezed(mail.body)
    assert words in squeezed(html_text(mail))


def test_cancelled_late_and_unpaid_is_still_owed(booking: Booking, world: World) -> None:
    cancel_booking(booking, by="participant", now=world.walk.starts_at - timedelta(days=7))
    body = squeezed(written(booking, Kind.CANCELLED, world).body)
    assert "You had paid nothing. £22.50 is still owed; the reference for a bank transfer is RF" in body


def test_new_link_opens_the_booking(booking: Booking, world: World) -> None:
    send_new_link(booking.code, "pat@example.org", by="participant", now=world.now)
    mail = written(booking, Kind.NEW_LINK, world)
    assert mail.subject == "The way to your booking"
    assert link_in(mail) in mail.alternatives[0][0]


def test_the_calendar_goes_along_as_published(booking: Booking, world: World) -> None:
    received = as_received(written(booking, Kind.CONFIRMATION, world))
    (part,) = [one for one in received.walk() if one.get_content_type() == "text/calendar"]
    whole = icalendar.Calendar.from_ical(part.get_payload(decode=True))
    assert part.get_param("method") == whole["METHOD"] == "PUBLISH"
    assert part.get_filename() == "walk.ics"
    (one,) = whole.walk("VEVENT")
    assert one["UID"] == world.walk.calendar_uid
    assert one["ORGANIZER"] == "mailto:office@example.org"
    assert "ATTENDEE" not in one
    assert "booking" not in one["URL"] + one["ATTACH"]
    assert b"Pat" not in whole.to_ical()


def test_the_calendar_of_a_cancelled_booking_takes_the_walk_out(booking: Booking, world: World) -> None:
    first = as_received(written(booking, Kind.CONFIRMATION, world))
    cancel_booking(booking, by="participant", now=world.now)
    second = as_received(written(booking, Kind.CANCELLED, world))
    before, after = (event_in(one) for one in (first, second))
    assert after["UID"] == before["UID"]
    assert after["STATUS"] == "CANCELLED"
    assert after["SEQUENCE"] > before["SEQUENCE"]
    assert after["SUMMARY"] == "Your booking is cancelled: The bare wood"


def event_in(received: EmailMessage) -> icalendar.Event:
    (part,) = [one for one in received.walk() if one.get_content_type() == "text/calendar"]
    return icalendar.Calendar.from_ical(part.get_payload(decode=True)).walk("VEVENT")[0]


def test_shape_and_headers(booking: Booking, world: World) -> None:
    message = OutboxMessage.objects.get()
    received = as_received(written(booking, Kind.CONFIRMATION, world))
    assert received["Message-ID"] == message.message_id
    assert received["To"] == "pat@example.org"
    assert received["Reply-To"] == "office@example.org"
    assert received["Auto-Submitted"] == "auto-generated"
    assert [one.get_content_type() for one in received.walk()] == [
        "multipart/mixed",
        "multipart/alternative",
        "text/plain",
        "text/html",
        "text/calendar",
    ]


@pytest.mark.parametrize("kind", [Kind.CONFIRMATION, Kind.CALLED_OFF, Kind.CANCELLED, Kind.NEW_LINK])
def test_subject_names_nobody_and_html_fetches_nothing(booking: Booking, world: World, kind: str) -> None:
    message = OutboxMessage.objects.create(
        kind=kind,
        contact=booking.party.contact,
        booking=booking,
        version=9,
        message_id="<x@y>",
        written_at=world.now,
        due_at=world.now,
    )
    mail = letter(message, now=world.now)
    assert not {"Pat", "Partridge", booking.code, "pat@example.org"} & set(re.split(r"[\s:,]+", mail.subject))
    html = BeautifulSoup(mail.alternatives[0][0], "html.parser")
    assert not html.find_all(["img", "link", "script", "iframe"])
    assert "url(" not in mail.alternatives[0][0]


def test_what_people_typed_stays_text(world: World) -> None:
    Offering.objects.update(title="Wood <b>&\u202e moss")
    names = ("<script>x</script>\r\nBcc: evil@example.org",)
    booking = book_places(world.order("adult", names=names), by="participant", now=world.now)
    mail = written(booking, Kind.CONFIRMATION, world)
    assert mail.subject == "Your places are booked: Wood <b>& moss, Saturday 3 October 2026"
    assert "Wood <b>& moss" in mail.body
    assert BeautifulSoup(mail.alternatives[0][0], "html.parser").find("script") is None
    received = as_received(mail)
    assert received["Bcc"] is None
    assert "\u202e" not in mail.body + mail.alternatives[0][0]


def test_a_course_names_each_date(world: World) -> None:
    days = [date(2026, 10, 10), date(2026, 10, 17)]
    plan = world.plan(*(world.session(local_date=day) for day in days), title="Two Saturdays")
    course = publish_walk(schedule_walk(plan, by=world.olive, now=world.now), by=world.olive, now=world.now)
    booking = book_places(world.order(offering=course), by="participant", now=world.now)
    mail = written(booking, Kind.CONFIRMATION, world)
    assert "Saturday 10 October 2026" in mail.body
    assert "Saturday 17 October 2026" in mail.body
    assert len(list(as_received(mail).walk())) == 5


@pytest.mark.parametrize("demonstration", [True, False])
def test_a_demonstration_says_that_it_is_one(booking: Booking, world: World, demonstration: bool) -> None:
    Business.objects.update(is_demonstration=demonstration)
    mail = written(booking, Kind.CONFIRMATION, world)
    assert mail.body.startswith("DEMONSTRATION.") is demonstration
    assert ("Demonstration." in html_text(mail)) is demonstration


def test_the_booking_has_its_own_calendar_behind_its_link(booking: Booking, world: World) -> None:
    page = link_in(written(booking, Kind.CONFIRMATION, world))
    LinkSecret.objects.update(expires_at=world.now + timedelta(days=40000))
    answer = Client().get(f"{page}walk.ics")
    assert answer.status_code == 200
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    assert "no-store" in answer["Cache-Control"]
    assert answer["Referrer-Policy"] == "no-referrer"
    assert not answer.cookies
    token = page.split("/")[2]
    assert token.encode() not in answer.content.replace(b"\r\n ", b"")
    assert b"METHOD:PUBLISH\r\n" in answer.content


def test_a_forged_link_has_no_calendar(booking: Booking, world: World) -> None:
    page = link_in(written(booking, Kind.CONFIRMATION, world))
    assert Client().get(f"{page[:-2]}x/walk.ics").status_code == 404
