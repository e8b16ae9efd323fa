"""Calling a walk off: guides are free, everybody is told, all money goes back."""

from __future__ import annotations

from datetime import timedelta

import pytest

from bookings.models import Booking, OutboxMessage, Place
from bookings.queries import balance, coming_back
from bookings.services.book_places import book_places
from bookings.services.call_off_walk import call_off_walk
from bookings.services.record_payment import record_payment
from foraywright.floor.models import AuditLine, FeedRevision
from tests.cast import WALK_DAY, World
from walks.errors import WalkNotCalledOff
from walks.models import Offering, Walk, WalkGuide
from walks.services.publish_walk import publish_walk
from walks.services.schedule_walk import schedule_walk

pytestmark = pytest.mark.database


def test_ends_every_booking_tells_everybody_and_gives_all_money_back(world: World) -> None:
    unpaid, paid_up, overpaid = (book_places(world.order(), by="participant", now=world.now) for _ in range(3))
    record_payment(paid_up, into="bank", amount_minor=3600, by=world.olive, now=world.now)
    record_payment(overpaid, into="cash", amount_minor=4000, by=world.olive, now=world.now)
    day_before = world.walk.starts_at - timedelta(days=1)
    offering = call_off_walk(world.offering, why="Storm.", by=world.olive, now=day_before)
    assert (offering.state, offering.called_off_at, offering.called_off_why) == ("called_off", day_before, "Storm.")
    for booking, back in ((unpaid, 0), (paid_up, 3600), (overpaid, 4000)):
        booking.refresh_from_db()
        assert (booking.state, booking.cancelled_at, booking.version) == (Booking.State.CALLED_OFF, day_before, 2)
        assert (balance(booking), coming_back(booking)) == (0, back)
        assert OutboxMessage.objects.filter(booking=booking, kind="called_off").count() == 1
    assert not Place.objects.filter(given_back_at=None).exists()
    walk = Walk.objects.get()
    assert (walk.called_off_at, walk.calendar_sequence, walk.places_taken_shown) == (day_before, 1, 0)


def test_guides_are_free_again_and_the_feed_and_the_audit_hear_of_it(world: World) -> None:
    before = FeedRevision.objects.get(feed="walks").revision
    call_off_walk(world.offering, why="Storm.", by=world.olive, now=world.now)
    assert not WalkGuide.objects.filter(live=True).exists()
    assert FeedRevision.objects.get(feed="walks").revision > before
    line = AuditLine.objects.get(act="call off walk")
    assert (line.object_id, line.reason, line.fields) == (world.offering.public_id, "Storm.", ["state"])
    assert schedule_walk(world.plan(), by=world.olive, now=world.now).pk


def test_a_second_press_is_refused_and_writes_to_nobody_twice(world: World) -> None:
    book_places(world.order(), by="participant", now=world.now)
    call_off_walk(world.offering, why="Storm.", by=world.olive, now=world.now)
    with pytest.raises(WalkNotCalledOff) as refused:
        call_off_walk(world.offering, why="Storm again.", by=world.olive, now=world.now)
    assert refused.value.sentence == "This walk is called off already. Nothing was changed."
    assert Offering.objects.get(pk=world.offering.pk).called_off_why == "Storm."
    assert OutboxMessage.objects.filter(kind="called_off").count() == 1


def test_a_walk_that_is_over_is_refused_and_one_under_way_is_not(world: World) -> None:
    end = world.walk.ends_at
    with pytest.raises(WalkNotCalledOff) as refused:
        call_off_walk(world.offering, why="Late.", by=world.olive, now=end)
    assert refused.value.sentence == "This walk is over. Nothing was changed."
    assert call_off_walk(world.offering, why="Gale.", by=world.olive, now=end - timedelta(seconds=1)).called_off_at


def test_cancelled_bookings_hear_nothing_more(world: World) -> None:
    from bookings.services.cancel_booking import cancel_booking

    booking = book_places(world.order(), by="participant", now=world.now)
    cancel_booking(booking, by="participant", now=world.now)
    call_off_walk(world.offering, why="Storm.", by=world.olive, now=world.now)
    booking.refresh_from_db()
    assert booking.state == Booking.State.CANCELLED
    assert not OutboxMessage.objects.filter(kind="called_off").exists()


def test_of_a_course_the_sessions_that_were_held_stay_held(world: World) -> None:
    days = [WALK_DAY + timedelta(weeks=week) for week in (1, 2)]
    plan = world.plan(*(world.session(local_date=day) for day in days), title="Two mornings")
    course = publish_walk(schedule_walk(plan, by=world.olive, now=world.now), by=world.olive, now=world.now)
    book_places(world.order(offering=course), by="participant", now=world.now)
    first, second = course.walks.all()
    between = first.ends_at + timedelta(hours=1)
    call_off_walk(course, why="Storm.", by=world.olive, now=between)
    assert list(course.walks.values_list("called_off_at", flat=True)) == [None, between]
    assert Place.objects.filter(walk=first, given_back_at=None).count() == 2
    assert not Place.objects.filter(walk=second, given_back_at=None).exists()
