"""Acts that meet: real connections, real locks, on either database. Nothing is sold twice and nobody sees a fault."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from datetime import time, timedelta
from functools import partial
from time import sleep

import pytest
from django.db import connection, transaction

from bookings.errors import NotBooked
from bookings.models import Booking, OutboxMessage, Place, Transfer
from bookings.queries import balance, coming_back
from bookings.services.book_places import book_places
from bookings.services.call_off_walk import call_off_walk
from bookings.services.cancel_booking import cancel_booking
from bookings.services.record_payment import record_payment
from foraywright.floor.acts import act
from foraywright.floor.models import Slug
from foraywright.floor.numbering import next_number
from tests.bookings.race import Outcome, together
from tests.cast import WALK_DAY, World, make_guide
from walks.models import LandownersPermission, Offering, Walk, WalkGuide
from walks.services.publish_walk import publish_walk
from walks.services.schedule_walk import schedule_walk

pytestmark = pytest.mark.database
PLACES = 12
NO_ROOM = "Not booked: there is no room for your party of 2 on Saturday 3 October."
CALLED_OFF = "Not booked. This walk has been called off. Nothing is owed and no place was taken."


def kinds(outcomes: list[Outcome]) -> Counter[str]:
    """How many of each kind; a fault shows its words."""
    return Counter(one.words if one.kind == "fault" else one.kind for one in outcomes)


def buyer(world: World, offering: Offering, number: int = 1) -> Callable[[], str]:
    """Somebody who tries `number` times to book for two; what they got, as a row of marks."""

    def buy() -> str:
        return "".join(_try(world, offering) for _ in range(number))

    return buy


def _try(world: World, offering: Offering) -> str:
    try:
        book_places(world.order(offering=offering), by="participant", now=world.now)
    except NotBooked as refused:
        return "-" if refused.happened == NO_ROOM else refused.sentence
    return "+"


def assert_exactly_sold_out(walk: Walk) -> None:
    walk.refresh_from_db()
    assert Place.objects.filter(walk=walk, given_back_at=None).count() == PLACES
    assert walk.places_taken_shown == PLACES
    live = Booking.objects.filter(offering=walk.offering, state=Booking.State.CONFIRMED)
    assert live.count() == PLACES // 2
    assert Transfer.objects.filter(booking__in=live, kind="sale").count() == PLACES // 2
    assert OutboxMessage.objects.filter(booking__in=live).count() == PLACES // 2


def test_sixteen_want_the_places_of_six(real_world: World) -> None:
    outcomes = together([buyer(real_world, real_world.offering)] * 16)
    assert Counter(one.words for one in outcomes) == {"+": 6, "-": 10}
    assert_exactly_sold_out(real_world.walk)


@pytest.mark.slow
def test_four_hundred_buyers_in_forty_processes_for_twelve_places_fifty_times(real_world: World) -> None:
    world, offering = real_world, real_world.offering
    for number in range(50):
        outcomes = together([buyer(world, offering, 10)] * 40)
        assert Counter("".join(one.words for one in outcomes)) == {"+": 6, "-": 394}, number
        assert_exactly_sold_out(offering.walks.get())
        call_off_walk(offering, why="Next round.", by=world.olive, now=world.now)
        pair = world.session(guides=(world.gwen, world.harry))
        offering = publish_walk(
            schedule_walk(world.plan(pair), by=world.olive, now=world.now), by=world.olive, now=world.now
        )


def test_sale_against_calling_off(real_world: World) -> None:
    world = real_world
    acts: list[Callable[[], object]] = [
        partial(book_places, world.order("adult"), by="participant", now=world.now) for _ in range(8)
    ]
    acts.insert(4, partial(call_off_walk, world.offering, why="Storm.", by=world.olive, now=world.now))
    outcomes = together(acts)
    assert outcomes[4].kind == "done"
    assert {one.words for one in outcomes if one.kind != "done"} <= {CALLED_OFF}
    assert not Booking.objects.exclude(state=Booking.State.CALLED_OFF).exists()
    told = OutboxMessage.objects.filter(kind="called_off").count()
    assert told == Booking.objects.count() == kinds(outcomes)["done"] - 1
    assert not Place.objects.filter(given_back_at=None).exists()


def test_one_form_sent_eight_times_is_one_booking(real_world: World) -> None:
    order = real_world.order()
    outcomes = together([partial(book_places, order, by="participant", now=real_world.now)] * 8)
    booking = Booking.objects.get()
    assert outcomes == [Outcome("done", booking.code)] * 8
    assert (Place.objects.count(), OutboxMessage.objects.count(), Transfer.objects.count()) == (2, 1, 1)


def test_a_booking_cancelled_six_times_is_cancelled_once(real_world: World) -> None:
    booking = book_places(real_world.order(), by="participant", now=real_world.now)
    outcomes = together([partial(cancel_booking, booking, by="participant", now=real_world.now)] * 6)
    assert kinds(outcomes) == {"done": 1, "refused": 5}
    assert {one.words for one in outcomes if one.kind == "refused"} == {
        "This booking is cancelled already. Nothing changed."
    }
    assert Transfer.objects.filter(kind="cancellation").count() == 1


def test_payments_against_calling_off_are_all_paid_back_or_wait_for_a_person(real_world: World) -> None:
    world = real_world
    bookings = [book_places(world.order(), by="participant", now=world.now) for _ in range(6)]
    acts: list[Callable[[], object]] = [
        partial(record_payment, one, into="bank", amount_minor=3600, by=world.olive, now=world.now) for one in bookings
    ]
    acts.insert(3, partial(call_off_walk, world.offering, why="Storm.", by=world.olive, now=world.now))
    assert kinds(together(acts)) == {"done": 7}
    for one in bookings:
        waiting = Transfer.objects.filter(booking=one, credit__key="unmatched").values_list("amount_minor", flat=True)
        assert balance(one) == 0
        assert coming_back(one) + sum(waiting) == 3600


def test_calling_off_waits_for_a_payment_that_is_being_written(
    real_world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    world = real_world
    booking = book_places(world.order(), by="participant", now=world.now)

    def slowly(*_: object, **__: object) -> None:
        sleep(1)

    def pay() -> None:
        monkeypatch.setattr("bookings.services.record_payment.record", slowly)
        record_payment(booking, into="bank", amount_minor=3600, by=world.olive, now=world.now)

    def call_off() -> None:
        sleep(0.4)
        call_off_walk(world.offering, why="Storm.", by=world.olive, now=world.now)

    assert kinds(together([pay, call_off])) == {"done": 2}
    assert (balance(booking), coming_back(booking)) == (0, 3600)


def test_two_schedulers_want_one_guide(real_world: World) -> None:
    day = WALK_DAY + timedelta(days=7)
    plans = [
        real_world.plan(real_world.session(local_date=day, local_time=time(hour)), title=f"From {hour}")
        for hour in (10, 11, 12, 10)
    ]
    outcomes = together([partial(schedule_walk, one, by=real_world.olive, now=real_world.now) for one in plans])
    assert kinds(outcomes) == {"done": 1, "refused": 3}
    assert all("Gwen Guide is out on “From" in one.words for one in outcomes if one.kind == "refused")
    assert WalkGuide.objects.filter(guide=real_world.gwen, starts_at__date=day).count() == 1


def test_schedulers_who_choose_one_title_get_an_address_each(real_world: World) -> None:
    day = WALK_DAY + timedelta(days=7)
    guides = [make_guide(f"Guide {number}", None, "first_aid") for number in range(6)]
    plans = [real_world.plan(real_world.session(local_date=day, guides=(one,))) for one in guides]
    outcomes = together([partial(schedule_walk, one, by=real_world.olive, now=real_world.now) for one in plans])
    assert kinds(outcomes) == {"done": 6}
    assert Slug.objects.filter(text__contains=f"{day}").values("text").distinct().count() == 6


def test_publishers_meet_on_the_last_day_of_a_permission(real_world: World) -> None:
    world = real_world
    LandownersPermission.objects.update(days_a_year=2)
    drafts = [
        schedule_walk(
            world.plan(world.session(local_date=WALK_DAY + timedelta(weeks=n))), by=world.olive, now=world.now
        )
        for n in (1, 2, 3, 4)
    ]
    outcomes = together([partial(publish_walk, one, by=world.olive, now=world.now) for one in drafts])
    assert kinds(outcomes) == {"done": 1, "refused": 3}
    assert all("allows 2 days a year" in one.words for one in outcomes if one.kind == "refused")
    assert Offering.objects.filter(state=Offering.State.PUBLISHED).count() == 2


def test_a_draft_published_four_times_is_published_once(real_world: World) -> None:
    session = real_world.session(local_date=WALK_DAY + timedelta(weeks=1))
    draft = schedule_walk(real_world.plan(session), by=real_world.olive, now=real_world.now)
    outcomes = together([partial(publish_walk, draft, by=real_world.olive, now=real_world.now)] * 4)
    assert kinds(outcomes) == {"done": 1, "refused": 3}


@act
def _number() -> int:
    return next_number("receipts")


def test_numbers_have_no_gap_and_no_double(real_world: World) -> None:
    outcomes = together([_number] * 12)
    assert sorted(int(one.words) for one in outcomes) == list(range(1, 13))


def test_a_transaction_that_reads_first_does_not_fail_for_a_rival_who_wrote(real_world: World) -> None:
    """A deferred SQLite transaction would break off at once with "database is locked"."""

    def read_then_write() -> int:
        with transaction.atomic():
            taken = Walk.objects.get().places_taken_shown
            with connection.cursor() as cursor:
                cursor.execute("SELECT COUNT(*) FROM walks_walk")
            return Walk.objects.update(places_taken_shown=taken + 1)

    assert kinds(together([read_then_write] * 6)) == {"done": 6}
