"""Letters that the calendar or a change asks for: when they are meant, what they say, when they are no longer true."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time, timedelta
from uuid import uuid4

import pytest
from bs4 import BeautifulSoup
from django.core.files.base import ContentFile
from django.core.mail import EmailMultiAlternatives

from bookings.ground_rules import rules_in_force
from bookings.letters import letter
from bookings.letters_still_true import no_longer_true
from bookings.models import Booking, OutboxMessage, Person, SaidBy
from bookings.services.book_places import book_places
from bookings.services.call_off_walk import call_off_walk
from bookings.services.cancel_booking import cancel_booking
from bookings.services.change_walk import change_walk
from bookings.services.declare import Answers, declare
from bookings.services.mark_attendance import Tick, mark_attendance
from bookings.services.pay_refund import pay_refund
from bookings.services.record_payment import record_payment
from bookings.services.tell_of_changes import tell_of_next_change
from bookings.services.write_ahead import write_next_ahead
from curriculum.models import Document
from tests.cast import World
from walks.models import Site, Walk
from walks.services.publish_walk import publish_walk
from walks.services.schedule_walk import schedule_walk
from walks.services.sessions import session_of

Kind = OutboxMessage.Kind
NOTHING = Answers("", "", "", "", "Noor", "01632 960 200", "partner", photos=False)
DAY, HOUR = timedelta(days=1), timedelta(hours=1)


@pytest.fixture
def booking(world: World) -> Booking:
    return book_places(world.order("adult", "adult", "4-8"), by="participant", now=world.now)


def meant(now: datetime) -> list[str]:
    """Everything that the calendar asks for at `now`, the second round being empty."""
    while write_next_ahead(now=now):
        pass
    ahead = (Kind.JOINING, Kind.DECLARATION, Kind.HANDOUT_READY, Kind.CERTIFICATE)
    return sorted(OutboxMessage.objects.filter(kind__in=ahead).values_list("kind", flat=True))


def the(kind: str) -> OutboxMessage:
    return OutboxMessage.objects.filter(kind=kind).latest("pk")


def build_booklet(walk: Walk, at: datetime) -> None:
    Document.objects.create(
        kind=Document.Kind.BOOKLET,
        subject_id=walk.public_id,
        manifest={},
        manifest_hash=walk.public_id.ljust(64, "0"),
        wanted_at=at,
        due_at=at,
        done_at=at,
        file=ContentFile(b"%PDF", name="x.pdf"),
    )


def both(mail: EmailMultiAlternatives) -> list[str]:
    page = BeautifulSoup(mail.alternatives[0][0], "html.parser").get_text(" ")
    return [" ".join(form.split()) for form in (mail.body, page)]


def change(world: World, now: datetime, **changes: object) -> Walk:
    walk = world.walk
    return change_walk(walk, replace(session_of(walk), **changes), why="the track is closed", by=world.olive, now=now)


def test_joining_instructions_three_days_before_and_once(booking: Booking, world: World) -> None:
    start = world.walk.starts_at
    assert Kind.JOINING not in meant(start - 3 * DAY - HOUR)
    assert meant(start - 3 * DAY).count(Kind.JOINING) == 1
    assert meant(start - HOUR).count(Kind.JOINING) == 1


def test_joining_instructions_say_where_and_what_to_bring(booking: Booking, world: World) -> None:
    now = world.walk.starts_at - DAY
    meant(now)
    for form in both(letter(the(Kind.JOINING), now=now)):
        assert "SU 387 148" in form
        assert "Coordinates (WGS84):" in form
        assert "Spare clothes for the children" in form
        assert "Please look at the forecast on the day before" in form
        assert "no licence to eat" in form
        assert "Sharing a lift with another party" in form


def test_joining_instructions_are_silent_on_lifts_where_the_walk_does_not_want_them(
    booking: Booking, world: World
) -> None:
    now = world.walk.starts_at - DAY
    meant(now)
    Site.objects.update(shares_lifts=False)
    assert not [form for form in both(letter(the(Kind.JOINING), now=now)) if "lift" in form]


def test_joining_instructions_of_a_walk_that_was_called_off_stay_unsent(booking: Booking, world: World) -> None:
    now = world.walk.starts_at - DAY
    meant(now)
    assert no_longer_true(the(Kind.JOINING), now=now) == ""
    assert no_longer_true(the(Kind.JOINING), now=now + 2 * DAY) == "The walk has begun."
    call_off_walk(world.offering, why="storm", by=world.olive, now=now)
    assert no_longer_true(the(Kind.JOINING), now=now) == "The booking is called off."
    assert no_longer_true(the(Kind.CALLED_OFF), now=now) == ""


def test_a_cancelled_booking_is_asked_for_nothing(booking: Booking, world: World) -> None:
    cancel_booking(booking, by="participant", now=world.now)
    assert meant(world.walk.starts_at - DAY) == []


def test_who_has_not_declared_is_reminded_by_number_never_by_answer(booking: Booking, world: World) -> None:
    now = world.walk.starts_at - 7 * DAY
    assert Kind.DECLARATION not in meant(now - HOUR)
    assert meant(now) == [Kind.DECLARATION]
    assert "For 3 people of your party" in both(letter(the(Kind.DECLARATION), now=now))[0]
    for person in Person.objects.filter(party=booking.party):
        said_by = SaidBy.CONTACT if person.band == "adult" else SaidBy.GUARDIAN
        declare(person, NOTHING, said_by=said_by, rules=rules_in_force(), by="participant", now=now)
    assert no_longer_true(the(Kind.DECLARATION), now=now) == "Everybody has declared."


def test_whoever_booked_today_is_not_reminded_at_once(world: World) -> None:
    now = world.walk.starts_at - 4 * DAY
    book_places(world.order(), by="participant", now=now)
    assert Kind.DECLARATION not in meant(now + HOUR)
    assert Kind.DECLARATION in meant(now + DAY)


@pytest.mark.parametrize(("built_after", "told"), [(HOUR, True), (-HOUR, False)])
def test_the_handout_is_told_of_where_the_confirmation_could_not(
    booking: Booking, world: World, built_after: timedelta, told: bool
) -> None:
    build_booklet(world.walk, world.now + built_after)
    assert (Kind.HANDOUT_READY in meant(world.now + 2 * HOUR)) is told


def test_of_a_course_each_handout_is_told_of_when_its_link_shows_it(world: World) -> None:
    days = (date(2026, 10, 10), date(2026, 10, 17))
    plan = world.plan(*(world.session(local_date=day) for day in days))
    course = publish_walk(schedule_walk(plan, by=world.olive, now=world.now), by=world.olive, now=world.now)
    book_places(world.order(offering=course), by="participant", now=world.now)
    first, second = course.walks.all()
    for walk in (first, second):
        build_booklet(walk, world.now + HOUR)
    meant(world.now + 2 * HOUR)
    assert OutboxMessage.objects.filter(kind=Kind.HANDOUT_READY).values_list("version", flat=True).get() == first.pk
    for form in both(letter(the(Kind.HANDOUT_READY), now=world.now + 2 * HOUR)):
        assert "10 October" in form
        assert "17 October" not in form
    meant(first.ends_at)
    assert the(Kind.HANDOUT_READY).version == second.pk


def test_a_change_is_told_with_what_was_and_the_free_exit(booking: Booking, world: World) -> None:
    record_payment(booking, into="bank", amount_minor=4500, by=world.olive, now=world.now)
    later = world.now + HOUR
    change(world, later, local_time=time(11, 30))
    assert tell_of_next_change(now=later) is not None
    assert tell_of_next_change(now=later) is None
    for form in both(letter(the(Kind.WALK_CHANGED), now=later)):
        assert "11.30 am (before: 10 am)" in form
        assert "The reason: The track is closed." in form
        assert "£45.00 would come back to you" in form


def test_only_the_last_of_several_changes_is_sent_and_says_all(booking: Booking, world: World) -> None:
    for hours, start in enumerate((11, 12), start=1):
        now = world.now + hours * HOUR
        change(world, now, local_time=time(start))
        tell_of_next_change(now=now)
    first, last = OutboxMessage.objects.filter(kind=Kind.WALK_CHANGED).order_by("pk")
    assert no_longer_true(first, now=now) == "A later letter says it."
    assert no_longer_true(last, now=now) == ""
    assert "12 noon (before: 10 am)" in letter(last, now=now).body


def test_a_change_that_was_taken_back_before_anybody_heard_is_not_told(booking: Booking, world: World) -> None:
    for hours, start in enumerate((11, 10), start=1):
        now = world.now + hours * HOUR
        change(world, now, local_time=time(start))
        tell_of_next_change(now=now)
    assert no_longer_true(the(Kind.WALK_CHANGED), now=now) == "All is as it was told before."


def test_whoever_booked_after_the_change_does_not_hear_of_it(world: World) -> None:
    change(world, world.now, local_time=time(11))
    book_places(world.order(), by="participant", now=world.now + HOUR)
    tell_of_next_change(now=world.now + HOUR)
    assert not OutboxMessage.objects.filter(kind=Kind.WALK_CHANGED).exists()


def test_a_payment_is_thanked_for_with_its_whole_amount(booking: Booking, world: World) -> None:
    record_payment(booking, into="bank", amount_minor=5000, by=world.olive, now=world.now)
    mail = letter(the(Kind.PAYMENT), now=world.now)
    assert "We have received £50.00 for booking" in both(mail)[0]
    assert mail.subject == "Your payment has arrived: The bare wood, Saturday 3 October 2026"


def test_two_payments_are_two_letters(booking: Booking, world: World) -> None:
    for amount in (2000, 2500):
        record_payment(booking, into="bank", amount_minor=amount, by=world.olive, now=world.now + amount * HOUR / 2500)
    assert OutboxMessage.objects.filter(kind=Kind.PAYMENT).count() == 2


def test_a_refund_that_was_paid_is_told_with_its_amount(booking: Booking, world: World) -> None:
    record_payment(booking, into="bank", amount_minor=5000, by=world.olive, now=world.now)
    pay_refund(booking, out_of="bank", amount_minor=500, key="k", by=world.olive, now=world.now)
    assert "We have paid £5.00 back to you" in both(letter(the(Kind.REFUND_PAID), now=world.now))[0]


def test_the_certificate_comes_the_day_after_to_whoever_was_there(booking: Booking, world: World) -> None:
    walk = world.walk
    whose = booking.party.people.first()
    tick = Tick(uuid4(), whose.public_id, "present", walk.starts_at)
    mark_attendance(walk, [tick], by=world.olive, now=walk.starts_at)
    assert Kind.CERTIFICATE not in meant(walk.ends_at + HOUR)
    now = walk.ends_at + DAY
    assert Kind.CERTIFICATE in meant(now)
    assert no_longer_true(the(Kind.CERTIFICATE), now=now) == ""
    assert "attendance.pdf" in letter(the(Kind.CERTIFICATE), now=now).body


def test_nobody_there_no_certificate(booking: Booking, world: World) -> None:
    assert Kind.CERTIFICATE not in meant(world.walk.ends_at + DAY)
