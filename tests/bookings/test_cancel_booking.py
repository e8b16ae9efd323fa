"""Cancelling: the tiers at their edges, on the site's days, and where the money goes."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bookings.compute.refunds import Settlement, Tier, percent_back, tiers_from
from bookings.errors import NotCancelled
from bookings.models import Booking, OutboxMessage, Place, Transfer
from bookings.queries import balance, coming_back, due, paid
from bookings.services.book_places import book_places
from bookings.services.call_off_walk import call_off_walk
from bookings.services.cancel_booking import cancel_booking, settlement
from bookings.services.change_walk import change_walk
from bookings.services.record_payment import record_payment
from foraywright.floor.models import AuditLine, PolicyVersion
from tests.cast import WALK_DAY, World
from walks.models import Walk
from walks.services.publish_walk import publish_walk
from walks.services.schedule_walk import schedule_walk
from walks.services.sessions import session_of

database = pytest.mark.database
TIERS = (Tier(14, 100), Tier(7, 50))
LONDON = ZoneInfo("Europe/London")


@pytest.mark.parametrize(
    ("days", "percent"), [(200, 100), (15, 100), (14, 100), (13, 50), (8, 50), (7, 50), (6, 0), (0, 0), (-1, 0)]
)
def test_a_tier_holds_on_its_last_day(days: int, percent: int) -> None:
    assert percent_back(TIERS, WALK_DAY, WALK_DAY - timedelta(days=days)) == percent


def test_after_the_walk_nothing_comes_back_whatever_the_last_tier() -> None:
    tiers = (Tier(7, 100), Tier(0, 20), Tier(-9, 10))
    assert [percent_back(tiers, WALK_DAY, WALK_DAY + timedelta(days=day)) for day in (-1, 0, 1)] == [20, 20, 0]


@pytest.mark.parametrize(
    "tiers",
    [
        [{"days": 14, "percent": 50}, {"days": 7, "percent": 51}],
        [{"days": 14, "percent": 101}],
        [{"days": 14, "percent": -1}],
    ],
)
def test_tiers_that_rise_or_are_no_percentage_are_refused(tiers: list[dict[str, int]]) -> None:
    with pytest.raises(ValueError, match="must not give back more for shorter notice, and are 0 to 100 per cent"):
        tiers_from({"tiers": tiers})


def test_tiers_may_stand_in_any_order_and_may_be_level() -> None:
    body = {"tiers": [{"days": 0, "percent": 0}, {"days": 14, "percent": 100}, {"days": 7, "percent": 100}]}
    assert [one.days for one in tiers_from(body)] == [14, 7, 0]


@given(st.integers(0, 10**9), st.integers(0, 2 * 10**9), st.integers(0, 100))
def test_every_penny_is_in_exactly_one_place(price: int, received: int, percent: int) -> None:
    terms = Settlement(price, received, percent)
    assert min(terms.kept, terms.back, terms.still_owed, terms.forgiven, terms.overpaid) >= 0
    assert received + terms.still_owed == terms.kept + terms.back
    assert price + terms.overpaid == terms.kept + terms.forgiven + terms.back
    assert terms.back <= received
    assert not (terms.back and terms.still_owed)


@given(st.integers(0, 10**6), st.integers(0, 10**6), st.integers(0, 99))
def test_a_higher_percentage_never_gives_back_less(price: int, received: int, percent: int) -> None:
    worse, better = Settlement(price, received, percent), Settlement(price, received, percent + 1)
    assert better.back >= worse.back
    assert better.still_owed <= worse.still_owed


@pytest.mark.parametrize(
    ("price", "paid_in", "percent", "expected"),
    [
        (3600, 3600, 100, (0, 3600, 0, 0)),
        (3600, 3600, 50, (1800, 1800, 0, 0)),
        (3600, 3600, 0, (3600, 0, 0, 0)),
        (3600, 0, 100, (0, 0, 0, 3600)),
        (3600, 0, 50, (1800, 0, 1800, 1800)),
        (3600, 0, 0, (3600, 0, 3600, 0)),
        (3600, 1000, 50, (1800, 0, 800, 1800)),
        (3600, 2000, 50, (1800, 200, 0, 1600)),
        (3600, 4000, 0, (3600, 400, 0, 0)),
        (3600, 4000, 100, (0, 4000, 0, 0)),
        (5, 5, 50, (2, 3, 0, 0)),
        (0, 0, 50, (0, 0, 0, 0)),
    ],
)
def test_a_table_worked_by_hand(price: int, paid_in: int, percent: int, expected: tuple[int, ...]) -> None:
    terms = Settlement(price, paid_in, percent)
    assert (terms.kept, terms.back, terms.still_owed, terms.forgiven) == expected


@database
@pytest.mark.parametrize(("paid_in", "back", "owed"), [(3600, 1800, 0), (0, 0, 1800), (1000, 0, 800), (4000, 2200, 0)])
def test_gives_back_the_places_and_settles_the_money(world: World, paid_in: int, back: int, owed: int) -> None:
    booking = book_places(world.order(), by="participant", now=world.now)
    if paid_in:
        record_payment(booking, into="bank", amount_minor=paid_in, by=world.olive, now=world.now)
    now = datetime(2026, 9, 22, 12, tzinfo=LONDON)
    ended = cancel_booking(booking, by="participant", now=now)
    assert (ended.state, ended.cancelled_at, ended.version) == (Booking.State.CANCELLED, now, 2)
    assert (balance(booking), coming_back(booking), paid(booking)) == (owed, back, paid_in)
    assert not Place.objects.filter(given_back_at=None).exists()
    assert Walk.objects.get().places_taken_shown == 0
    assert OutboxMessage.objects.filter(booking=booking, kind="cancelled", version=2).count() == 1
    line = AuditLine.objects.get(act="cancel booking")
    assert (line.actor, line.object_id, line.fields) == ("participant", booking.public_id, ["state", "places"])


@database
@pytest.mark.parametrize(
    ("moment", "percent"),
    [
        (datetime(2026, 9, 19, 23, 59, 59, tzinfo=LONDON), 100),
        (datetime(2026, 9, 20, 0, 0, tzinfo=LONDON), 50),
        (datetime(2026, 9, 19, 18, 30, tzinfo=ZoneInfo("America/New_York")), 100),
        (datetime(2026, 9, 19, 19, 0, tzinfo=ZoneInfo("America/New_York")), 50),
        (datetime(2026, 9, 20, 10, 59, tzinfo=ZoneInfo("Pacific/Auckland")), 100),
        (datetime(2026, 9, 26, 23, 59, 59, tzinfo=LONDON), 50),
        (datetime(2026, 9, 27, 0, 0, tzinfo=LONDON), 0),
    ],
)
def test_the_day_is_counted_at_the_site(world: World, moment: datetime, percent: int) -> None:
    booking = book_places(world.order(), by="participant", now=world.now)
    assert settlement(booking, ours=False, now=moment).percent == percent
    assert settlement(booking, ours=True, now=moment).percent == 100


@database
def test_the_policy_of_the_sale_decides(world: World) -> None:
    booking = book_places(world.order(), by="participant", now=world.now)
    PolicyVersion.objects.create(
        kind="refunds", number=2, body={"tiers": [{"days": 0, "percent": 0}]}, source="the cast", since=world.now
    )
    assert settlement(booking, ours=False, now=world.now).percent == 100


@database
def test_a_second_press_is_refused_and_moves_no_money(world: World) -> None:
    booking = book_places(world.order(), by="participant", now=world.now)
    cancel_booking(booking, by="participant", now=world.now)
    before = Transfer.objects.count(), OutboxMessage.objects.count()
    with pytest.raises(NotCancelled) as refused:
        cancel_booking(booking, by=world.olive, now=world.now)
    assert refused.value.sentence == "This booking is cancelled already. Nothing changed."
    assert (Transfer.objects.count(), OutboxMessage.objects.count()) == before


@database
def test_a_called_off_booking_is_refused(world: World) -> None:
    booking = book_places(world.order(), by="participant", now=world.now)
    call_off_walk(world.offering, why="Storm.", by=world.olive, now=world.now)
    with pytest.raises(NotCancelled) as refused:
        cancel_booking(booking, by="participant", now=world.now)
    assert refused.value.sentence == "This booking is called off already. Nothing changed."


@database
def test_once_the_walk_has_begun_it_is_refused(world: World) -> None:
    booking = book_places(world.order(), by="participant", now=world.now)
    start = world.walk.starts_at
    with pytest.raises(NotCancelled) as refused:
        cancel_booking(booking, by="participant", now=start)
    assert refused.value.sentence == "The walk has begun or is over, so it cannot be cancelled. Nothing changed."
    assert cancel_booking(booking, by="participant", now=start - timedelta(seconds=1)).cancelled_at


@database
def test_of_a_course_under_way_the_places_of_held_sessions_stay(world: World) -> None:
    days = [date(2026, 10, 10), date(2026, 10, 17)]
    plan = world.plan(*(world.session(local_date=day) for day in days), title="Two mornings")
    course = publish_walk(schedule_walk(plan, by=world.olive, now=world.now), by=world.olive, now=world.now)
    booking = book_places(world.order(offering=course), by="participant", now=world.now)
    first, second = course.walks.all()
    cancel_booking(booking, by="participant", now=first.ends_at)
    assert Place.objects.filter(walk=first, given_back_at=None).count() == 2
    assert not Place.objects.filter(walk=second, given_back_at=None).exists()
    assert balance(booking) == 3600


@database
def test_a_free_exit_from_a_course_under_way_pays_back_the_sessions_to_come(world: World) -> None:
    days = [date(2026, 10, 10), date(2026, 10, 17), date(2026, 10, 24)]
    plan = world.plan(*(world.session(local_date=day) for day in days), title="Three mornings")
    course = publish_walk(schedule_walk(plan, by=world.olive, now=world.now), by=world.olive, now=world.now)
    booking = book_places(world.order(offering=course), by="participant", now=world.now)
    record_payment(booking, into="bank", amount_minor=3600, by=world.olive, now=world.now)
    last, now = course.walks.latest("starts_at"), datetime(2026, 10, 19, 12, tzinfo=LONDON)
    another_day = replace(session_of(last), local_date=date(2026, 10, 25))
    change_walk(last, another_day, why="The road is closed.", by=world.olive, now=now)
    later = now + timedelta(minutes=1)
    assert settlement(booking, ours=False, now=later).back == 1200
    cancel_booking(booking, by="participant", now=later)
    assert (balance(booking), coming_back(booking), due(booking)) == (0, 1200, 2400)
