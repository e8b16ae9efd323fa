"""Marking attendance: once an event, never lost; the page to tick, and the certificates that follow."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from functools import partial
from uuid import UUID, uuid4

import pytest
import time_machine
from bs4 import BeautifulSoup
from django.db import DatabaseError, transaction
from django.test import Client

from bookings.attendance import attendees, certificates_html, certificates_of
from bookings.errors import NotMarked
from bookings.models import AttendanceMark, Booking, Person
from bookings.services.book_places import book_places
from bookings.services.booking_link import booking_link
from bookings.services.cancel_booking import cancel_booking
from bookings.services.mark_attendance import Tick, mark_attendance
from tests.bookings.race import together
from tests.cast import World
from tests.pages import words_of
from tests.walks.printed import faults_of_accessibility, printed
from walks.models import Offering, Walk
from walks.services.publish_walk import publish_walk
from walks.services.schedule_walk import schedule_walk

FIRST = date(2026, 10, 10)


@pytest.fixture
def course(world: World) -> Offering:
    """Four mornings, three of them asked for; 150 minutes each."""
    sessions = [
        world.session(local_date=FIRST + timedelta(weeks=n), minutes=150, heading=f"Part {n + 1}") for n in range(4)
    ]
    draft = schedule_walk(world.plan(*sessions, title="Four mornings"), by=world.olive, now=world.now)
    return publish_walk(draft, by=world.olive, now=world.now)


@pytest.fixture
def booking(world: World, course: Offering) -> Booking:
    order = world.order(offering=course, names=("Pat Partridge", "Quill Quince"))
    return book_places(order, by="participant", now=world.now)


def people(booking: Booking) -> list[Person]:
    return list(booking.party.people.order_by("pk"))


def mark(world: World, walk: Walk, person: Person, state: str = "present", *, event: UUID | None = None) -> list[str]:
    tick = Tick(event or uuid4(), person.public_id, state, walk.starts_at, settles=True)
    return mark_attendance(walk, [tick], by=world.olive, now=walk.ends_at)


def states(walk: Walk) -> list[str]:
    return [one.standing for one in attendees(walk)]


def attend(world: World, booking: Booking, number: int, *sessions: int) -> None:
    """Let person `number` of the booking be present at the numbered sessions."""
    for walk in booking.offering.walks.filter(number__in=sessions):
        mark(world, walk, people(booking)[number])


def after(course: Offering) -> datetime:
    return course.walks.latest("ends_at").ends_at


def test_a_mark_is_kept_with_who_and_when(world: World, course: Offering, booking: Booking) -> None:
    walk = course.walks.get(number=1)
    assert mark(world, walk, people(booking)[0]) == []
    kept = AttendanceMark.objects.get()
    assert (kept.state, kept.seen_at, kept.recorded_at) == ("present", walk.starts_at, walk.ends_at)
    assert (kept.by, kept.place.person, kept.place.walk) == (world.olive.public_id, people(booking)[0], walk)
    assert states(walk) == ["present", "unknown"]
    assert states(course.walks.get(number=2)) == ["unknown", "unknown"]


def test_the_same_event_again_changes_nothing(world: World, course: Offering, booking: Booking) -> None:
    walk, event = course.walks.get(number=1), uuid4()
    mark(world, walk, people(booking)[0], event=event)
    mark(world, walk, people(booking)[0], "absent", event=event)
    assert states(walk) == ["present", "unknown"]


def test_a_tick_of_whoever_has_no_place_is_passed_over_and_the_rest_is_kept(
    world: World, course: Offering, booking: Booking
) -> None:
    walk = course.walks.get(number=1)
    gone = book_places(world.order("adult", offering=course), by="participant", now=world.now)
    cancel_booking(gone, by="participant", now=world.now)
    left = people(gone)[0].public_id
    ticks = [Tick(uuid4(), one, "present", walk.starts_at) for one in (left, people(booking)[1].public_id)]
    assert mark_attendance(walk, ticks, by=world.gwen.user, now=walk.ends_at) == [left]
    assert states(walk) == ["unknown", "present"]


@pytest.mark.parametrize("case", ["early", "future", "called off", "strange"])
def test_what_cannot_be_is_refused(world: World, course: Offering, booking: Booking, case: str) -> None:
    walk = course.walks.get(number=1)
    now = walk.starts_at - timedelta(hours=2, seconds=1) if case == "early" else walk.ends_at
    seen = now + timedelta(minutes=16) if case == "future" else now
    if case == "called off":
        Walk.objects.filter(pk=walk.pk).update(called_off_at=world.now)
    tick = Tick(uuid4(), people(booking)[0].public_id, "gone" if case == "strange" else "present", seen)
    with pytest.raises(NotMarked):
        mark_attendance(walk, [tick], by=world.olive, now=now)
    assert not AttendanceMark.objects.exists()


def test_two_hours_before_the_start_one_may_begin(world: World, course: Offering, booking: Booking) -> None:
    walk = course.walks.get(number=1)
    now = walk.starts_at - timedelta(hours=2)
    mark_attendance(walk, [Tick(uuid4(), people(booking)[0].public_id, "present", now)], by=world.olive, now=now)
    assert states(walk)[0] == "present"


def test_a_mark_is_never_changed_and_goes_with_the_person(world: World, course: Offering, booking: Booking) -> None:
    mark(world, course.walks.get(number=1), people(booking)[0])
    with pytest.raises(DatabaseError, match="never changed"), transaction.atomic():
        AttendanceMark.objects.update(state="absent")
    people(booking)[0].delete()
    assert not AttendanceMark.objects.exists()


@pytest.mark.database
def test_one_phone_that_sends_six_times_at_once(real_world: World) -> None:
    world = real_world
    booking = book_places(world.order(), by="participant", now=world.now)
    tick = Tick(uuid4(), people(booking)[0].public_id, "present", world.walk.starts_at)
    send = partial(mark_attendance, world.walk, [tick], by=world.olive, now=world.walk.ends_at)
    assert {one.kind for one in together([send] * 6)} == {"done"}
    assert AttendanceMark.objects.count() == 1


def certified(course: Offering, **of: object) -> list[tuple[str, int, str]]:
    found = certificates_of(course, now=after(course), **of)  # type: ignore[arg-type]
    return [(one.name, len(one.sessions), one.hours) for one in found]


def test_whoever_was_at_the_stated_share_has_a_certificate(world: World, course: Offering, booking: Booking) -> None:
    attend(world, booking, 0, 1, 2, 4)
    attend(world, booking, 1, 1, 2)
    mark(world, course.walks.get(number=3), people(booking)[1], "left_early")
    assert certified(course) == [("Pat Partridge", 3, "7 hours 30 minutes")]
    other = book_places(world.order(), by="participant", now=world.now)
    assert certified(course, booking=other) == []
    assert certificates_of(course, now=after(course) - timedelta(seconds=1)) == []


def test_the_paper_says_what_was_covered_and_what_it_is_no_proof_of(
    world: World, course: Offering, booking: Booking
) -> None:
    Walk.objects.filter(number=2, offering=course).update(points="To cut a bracket\nTo smell it")
    attend(world, booking, 0, 1, 2, 3, 4)
    attend(world, booking, 1, 1, 2, 3)
    html = certificates_html(course, certificates_of(course, now=after(course)))
    paper = printed(html)
    assert len(paper.pages) == 2
    for words in (
        "Pat Partridge",
        "was at 4 of the 4 sessions of",
        "10 hours in all. The certificate asks for 3 of 4.",
        "Part 2: To cut a bracket; To smell it",
        "It says nothing of competence to gather",
        "Leading guide (Gwen Guide)",
    ):
        assert words in paper.text, words
    assert faults_of_accessibility(paper.content) == []


def test_staff_tick_after_the_walk_and_the_same_form_twice_is_one(
    world: World, course: Offering, booking: Booking
) -> None:
    walk, client = course.walks.get(number=1), Client()
    page = f"/staff/walks/{course.public_id}/1/attendance/"
    with time_machine.travel(walk.ends_at, tick=False):
        client.force_login(world.gwen.user)
        form = BeautifulSoup(client.get(page).content, "html.parser")
        first, second = (one.public_id for one in people(booking))
        assert form.select_one(f"[name='{first}'][checked]")["value"] == "unknown"
        sent = {"form_key": form.select_one("[name=form_key]")["value"], first: "present", second: "unknown"}
        assert "The attendance is kept." in words_of(client.post(page, sent, follow=True).content)
        client.post(page, sent)
    assert states(walk) == ["present", "unknown"]
    assert AttendanceMark.objects.count() == 1


def test_two_answers_are_shown_and_settled_by_hand(world: World, course: Offering, booking: Booking) -> None:
    walk, person, client = course.walks.get(number=1), people(booking)[0], Client()
    for user, state in ((world.gwen.user, "present"), (world.harry.user, "absent")):
        tick = Tick(uuid4(), person.public_id, state, walk.starts_at)
        mark_attendance(walk, [tick], by=user, now=walk.ends_at)
    page = f"/staff/walks/{course.public_id}/1/attendance/"
    with time_machine.travel(walk.ends_at, tick=False):
        client.force_login(world.olive)
        assert "Two answers present, " in words_of(client.get(page).content)
        client.post(page, {"form_key": str(uuid4()), person.public_id: "absent"})
    assert states(walk)[0] == "absent"


def test_certificates_are_handed_to_staff_and_by_the_bookings_link(
    world: World, course: Offering, booking: Booking
) -> None:
    token, client = booking_link(booking, now=world.now), Client()
    attend(world, booking, 0, 1, 2, 3)
    own, staff = f"/booking/{token}/attendance.pdf", f"/staff/walks/{course.public_id}/certificates.pdf"
    with time_machine.travel(world.now, tick=False):
        assert client.get(own).status_code == 404
    with time_machine.travel(after(course), tick=False):
        assert "Your certificate of attendance" in words_of(client.get(f"/booking/{token}/").content)
        answer = client.get(own)
        assert (answer["Content-Type"], answer["Cache-Control"]) == ("application/pdf", "no-store")
        client.force_login(world.olive)
        assert f'href="{staff}"' in client.get(f"/staff/walks/{course.public_id}/").content.decode()
        assert client.get(staff).content.startswith(b"%PDF-")
        AttendanceMark.objects.all().delete()
        assert "There is no certificate to print" in words_of(client.get(staff, follow=True).content)
