"""Payments that are to come: what is due first, the letter shortly before, what the office is told afterwards."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from hypothesis import given
from hypothesis import strategies as st

from bookings.compute.dues import Dues, dues
from bookings.dues import unpaid
from bookings.letters import letter
from bookings.letters_still_true import no_longer_true
from bookings.management.commands import work
from bookings.models import Booking, OutboxMessage
from bookings.services.book_places import book_places
from bookings.services.cancel_booking import cancel_booking
from bookings.services.record_payment import record_payment
from bookings.services.remind_of_payment import remind_of_payments
from bookings.today import what_needs_somebody
from foraywright.floor.compute.short_codes import spoken
from foraywright.floor.models import PolicyVersion
from tests.cast import OFFICE, World
from walks.models import Offering

Kind = OutboxMessage.Kind
DAY = timedelta(days=1)
SOON, LATER = date(2026, 9, 21), date(2026, 9, 30)


@pytest.fixture
def booking(world: World) -> Booking:
    return book_places(world.order(), by="participant", now=world.now)


def with_deposit(world: World, rest_days: int) -> None:
    before = world.offering.prices
    body = before.body | {"deposit": {"percent": 25, "rest_days": rest_days}}
    policy = PolicyVersion.objects.create(kind=before.kind, number=2, body=body, source="the cast", since=world.now)
    Offering.objects.update(prices=policy)
    world.offering.refresh_from_db()


def reminders() -> list[OutboxMessage]:
    return list(OutboxMessage.objects.filter(kind=Kind.PAYMENT_DUE).order_by("pk"))


def said(message: OutboxMessage, world: World) -> str:
    return " ".join(str(letter(message, now=world.now).body).split())


@pytest.mark.parametrize(
    ("owed", "paid", "deposit", "expected"),
    [
        (3600, 0, None, Dues(3600, SOON)),
        (3600, 0, (900, LATER), Dues(900, SOON, 2700, LATER)),
        (3400, 200, (900, LATER), Dues(700, SOON, 2700, LATER)),
        (2700, 900, (900, LATER), Dues(2700, LATER)),
        (0, 3600, (900, LATER), Dues(0, SOON)),
        (-100, 3700, None, Dues(0, SOON)),
        (3600, 0, (900, SOON - DAY), Dues(900, SOON - DAY, 2700, SOON - DAY)),
        (500, 0, (900, LATER), Dues(500, SOON)),
    ],
)
def test_what_is_due_first(owed: int, paid: int, deposit: tuple[int, date] | None, expected: Dues) -> None:
    assert dues(owed, paid, pay_by=SOON, deposit=deposit) == expected


@given(st.integers(-5000, 5000), st.integers(0, 5000), st.integers(1, 5000), st.dates(), st.dates())
def test_the_parts_are_what_is_owed_and_the_first_is_never_later(
    owed: int, paid: int, deposit: int, pay_by: date, rest_by: date
) -> None:
    found = dues(owed, paid, pay_by=pay_by, deposit=(deposit, rest_by))
    assert found.first + found.later == max(0, owed)
    assert not found.rest_by or (found.by and found.by <= found.rest_by)


def test_who_has_not_paid_is_reminded_once_and_shortly_before(booking: Booking, world: World) -> None:
    assert booking.pay_by is not None
    days = (booking.pay_by - world.now.date()).days
    assert remind_of_payments(now=world.now + (days - 4) * DAY) == 0
    assert remind_of_payments(now=world.now + (days - 3) * DAY) == 1
    assert remind_of_payments(now=world.now + (days - 2) * DAY) == 0
    assert "£36.00 is due by Monday 21 September 2026 and has not arrived yet." in said(reminders()[0], world)


def test_who_has_paid_or_is_past_the_day_is_not(booking: Booking, world: World) -> None:
    assert remind_of_payments(now=world.now + 8 * DAY) == 0
    record_payment(booking, into="bank", amount_minor=3600, by=world.olive, now=world.now)
    assert remind_of_payments(now=world.now + 5 * DAY) == 0


def test_nobody_is_reminded_on_the_day_of_booking(world: World) -> None:
    now = world.walk.starts_at - 5 * DAY
    booked = book_places(world.order(), by="participant", now=now)
    assert booked.pay_by is not None
    assert remind_of_payments(now=now + timedelta(hours=2)) == 0
    assert remind_of_payments(now=now + DAY) == 1


@pytest.mark.parametrize(
    ("meanwhile", "why"),
    [
        (lambda one, world: cancel_booking(one, by="participant", now=world.now), "The booking is cancelled."),
        (
            lambda one, world: record_payment(one, into="cash", amount_minor=3600, by=world.olive, now=world.now),
            "Nothing is left to pay.",
        ),
        (lambda one, _: Booking.objects.update(pay_by=one.pay_by + DAY), "It is due on another day now."),
    ],
)
def test_a_reminder_that_is_overtaken_stays_unsent(
    booking: Booking, world: World, meanwhile: Callable[[Booking, World], object], why: str
) -> None:
    now = world.now + 5 * DAY
    remind_of_payments(now=now)
    assert no_longer_true(reminders()[0], now=now) == ""
    meanwhile(booking, world)
    assert no_longer_true(reminders()[0], now=now) == why


def test_letters_ask_for_the_deposit_and_then_for_the_rest(world: World) -> None:
    with_deposit(world, rest_days=10)
    booking = book_places(world.order(), by="participant", now=world.now)
    rest_by = world.walk.local_date - 10 * DAY
    confirmation = said(OutboxMessage.objects.get(kind=Kind.CONFIRMATION), world)
    assert "Please pay £9.00 as a deposit by Monday 21 September 2026" in confirmation
    assert f"The rest, £27.00, is due by {rest_by:%A} {rest_by.day}" in confirmation
    remind_of_payments(now=world.now + 5 * DAY)
    assert "£9.00 is due by Monday 21 September 2026" in said(reminders()[0], world)
    record_payment(booking, into="bank", amount_minor=900, by=world.olive, now=world.now)
    remind_of_payments(now=world.walk.starts_at - 12 * DAY)
    assert [one.version for one in reminders()] == [date(2026, 9, 21).toordinal(), rest_by.toordinal()]
    assert f"£27.00 is due by {rest_by:%A} {rest_by.day}" in said(reminders()[1], world)


def test_what_did_not_come_in_time_stands_on_today(booking: Booking, world: World) -> None:
    def told(days: int) -> list[str]:
        needs = what_needs_somebody(OFFICE, now=world.now + days * DAY)
        return [one.words for one in needs if "in time" in one.words]

    assert told(7) == []
    late = "did not come in time, the oldest since 21 September 2026. Ask for it."
    assert told(8) == [f"£36.00 of booking {spoken(booking.code)} {late}"]
    book_places(world.order(), by="participant", now=world.now)
    assert told(8) == [f"£72.00 of 2 bookings {late}"]
    for one in Booking.objects.all():
        record_payment(one, into="bank", amount_minor=3600, by=world.olive, now=world.now)
    assert told(8) == []


def test_who_pays_where_we_meet_is_late_from_the_day_after_the_walk(world: World) -> None:
    booked = book_places(world.order(), by="participant", now=world.walk.starts_at - 2 * DAY)
    assert booked.pay_by is None
    ends = [one.words for one in what_needs_somebody(OFFICE, now=world.walk.ends_at)]
    after = [one.words for one in what_needs_somebody(OFFICE, now=world.walk.ends_at + DAY)]
    assert not [words for words in ends if "in time" in words]
    assert [words for words in after if "£36.00 of booking" in words]


def test_the_worker_reminds(booking: Booking, world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(work, "empty_the_log", lambda: True)  # it works outside a transaction only
    work.Command()._keep_house(world.now + 5 * DAY)
    assert len(reminders()) == 1


def test_more_who_owe_a_deposit_cost_no_more_queries(world: World) -> None:
    with_deposit(world, 7)

    def read() -> tuple[list[Dues], int]:
        with CaptureQueriesContext(connection) as ran:
            found = [one.dues for one in unpaid(Booking.objects.all(), now=world.now)]
        return found, len(ran)

    book_places(world.order(), by="participant", now=world.now)
    few, queries = read()
    paying = book_places(world.order(), by="participant", now=world.now)
    record_payment(paying, into="bank", amount_minor=300, by=world.olive, now=world.now)
    many, again = read()
    assert [(one.first, one.later) for one in few + many] == [(900, 2700), (900, 2700), (600, 2700)]
    assert again == queries
