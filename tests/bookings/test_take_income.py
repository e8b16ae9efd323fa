"""Money after a walk: what was sold becomes income and tax owed, once, and no penny is lost on the way."""

from __future__ import annotations

from collections import Counter
from datetime import datetime, time, timedelta
from functools import partial

import pytest

from bookings.compute.earned import Sold, earned_of
from bookings.models import Booking, IncomeTaken, Transfer
from bookings.queries import balance, due
from bookings.services.book_places import book_places
from bookings.services.call_off_walk import call_off_walk
from bookings.services.cancel_booking import cancel_booking
from bookings.services.issue_voucher import issue_voucher
from bookings.services.pay_by_voucher import pay_by_voucher
from bookings.services.pay_refund import pay_refund
from bookings.services.record_payment import record_payment
from bookings.services.take_income import take_next_income
from foraywright.floor.models import AuditLine
from tests.bookings.race import together
from tests.cast import WALK_DAY, World
from walks.models import Offering
from walks.services.publish_walk import publish_walk
from walks.services.schedule_walk import schedule_walk

pytestmark = pytest.mark.database


def take_all(now: datetime) -> None:
    while take_next_income(now=now):
        pass


def books() -> Counter[str]:
    """What stands in each account: credits less debits."""
    sums: Counter[str] = Counter()
    for debit, credit, amount in Transfer.objects.values_list("debit__key", "credit__key", "amount_minor"):
        sums[credit] += amount
        sums[debit] -= amount
    return sums


def check_the_law() -> None:
    """What was paid or is owed to us = earned + tax + sold, not held + promised back + waiting: each by its name."""
    sums = books()
    ours = -(sums["bank"] + sums["cash"] + sums["card"] + sums["receivable"] + sums["voucher_tax"])
    named = ("income", "vat", "deferred_income", "refunds_due", "awaiting_choice", "unmatched", "vouchers_out")
    assert ours == sum(sums[one] for one in named)
    assert min(sums[one] for one in named) >= 0
    for booking in Booking.objects.all():
        own = Counter[str]()
        for debit, credit, amount in booking.transfers.values_list("debit__key", "credit__key", "amount_minor"):
            own[credit] += amount
            own[debit] -= amount
        assert own["income"] + own["vat"] + own["voucher_tax"] + own["deferred_income"] == due(booking)


@pytest.fixture
def over(world: World) -> datetime:
    return world.walk.ends_at  # type: ignore[attr-defined]


def test_what_was_sold_is_income_and_tax_once_the_walk_was_held(world: World, over: datetime) -> None:
    booking = book_places(world.order(), by="participant", now=world.now)
    take_all(over - timedelta(seconds=1))
    assert (books()["deferred_income"], books()["income"]) == (3600, 0)
    for _ in range(2):
        take_all(over)
    # By hand: 3600 holds 20 % of 3000.
    assert (books()["deferred_income"], books()["income"], books()["vat"]) == (0, 3000, 600)
    assert balance(booking) == 3600
    assert AuditLine.objects.filter(act="take income").count() == IncomeTaken.objects.count() == 1
    check_the_law()


def test_of_a_cancelled_booking_only_what_was_kept_is_earned(world: World, over: datetime) -> None:
    booking = book_places(world.order(), by="participant", now=world.now)
    record_payment(booking, into="bank", amount_minor=3600, by=world.olive, now=world.now)
    cancel_booking(booking, by="participant", now=over - timedelta(days=10))
    pay_refund(booking, out_of="bank", amount_minor=800, key="k", by=world.olive, now=over)
    take_all(over)
    assert (books()["income"], books()["vat"], books()["refunds_due"], -books()["bank"]) == (1500, 300, 1000, 2800)
    check_the_law()


def test_of_a_walk_that_was_called_off_nothing_is_earned(world: World, over: datetime) -> None:
    booking = book_places(world.order(), by="participant", now=world.now)
    record_payment(booking, into="cash", amount_minor=2000, by=world.olive, now=world.now)
    call_off_walk(world.offering, why="Storm.", by=world.olive, now=world.now)
    take_all(over)
    assert (books()["income"], books()["vat"], books()["awaiting_choice"]) == (0, 0, 2000)
    check_the_law()


def test_tax_that_a_voucher_owed_when_it_was_sold_is_not_owed_twice(world: World, over: datetime) -> None:
    voucher = issue_voucher(value_minor=2400, into="cash", key="v", by=world.olive, now=world.now)
    assert (voucher.vat_basis_points, books()["vat"]) == (2000, 400)
    booking = book_places(world.order(), by="participant", now=world.now)
    pay_by_voucher(booking, voucher.code, by="participant", now=world.now)
    take_all(over)
    assert (books()["income"], books()["vat"], books()["voucher_tax"]) == (3000, 600, 0)
    check_the_law()


def course_of(world: World) -> Offering:
    """One hour, and a week later three."""
    sessions = (
        world.session(minutes=60, local_time=time(14)),
        world.session(local_date=WALK_DAY + timedelta(days=7), minutes=180),
    )
    draft = schedule_walk(world.plan(*sessions, title="A course"), by=world.olive, now=world.now)
    return publish_walk(draft, by=world.olive, now=world.now)


def test_of_a_course_each_session_earns_its_share(world: World) -> None:
    course = course_of(world)
    book_places(world.order(offering=course), by="participant", now=world.now)
    first, second = course.walks.order_by("starts_at")
    take_all(first.ends_at)
    assert (books()["income"], books()["vat"], books()["deferred_income"]) == (750, 150, 2700)
    take_all(second.ends_at)
    assert (books()["income"], books()["vat"], books()["deferred_income"]) == (3000, 600, 0)
    check_the_law()


def test_a_course_cancelled_under_way_earns_what_is_kept_and_no_more(world: World) -> None:
    course = course_of(world)
    booking = book_places(world.order("adult", "4-8", "4-8", offering=course), by="participant", now=world.now)
    first, second = course.walks.order_by("starts_at")
    take_all(first.ends_at)
    cancel_booking(booking, by="participant", now=first.ends_at + timedelta(hours=1))
    check_the_law()
    take_all(second.ends_at)
    assert (books()["income"] + books()["vat"], books()["deferred_income"]) == (due(booking), 0)
    check_the_law()


@pytest.mark.parametrize("held", range(4))
def test_shares_of_odd_prices_add_up_and_never_fall(held: int) -> None:
    lines = [Sold(1801, 0, 2000), Sold(901, 0, 2000), Sold(0, 333, 2000)]
    earned = [earned_of(lines, [60, 75, 95], number) for number in range(4)]
    assert [one.gross_minor for one in earned] == sorted(one.gross_minor for one in earned)
    assert earned[held].income_minor + earned[held].vat_minor == earned[held].gross_minor
    assert (earned[0].gross_minor, earned[3].gross_minor) == (333, 1801 + 901 + 333)
    # By hand at the end: 1801 · 20/120 = 300.17, 901 · 20/120 = 150.17, 333 · 20/120 = 55.5, a half up.
    assert earned[3].vat_minor == 300 + 150 + 56


def test_workers_at_the_same_moment_take_it_once(real_world: World) -> None:
    over = real_world.walk.ends_at  # type: ignore[attr-defined]
    for _ in range(3):
        book_places(real_world.order(), by="participant", now=real_world.now)
    outcomes = together([partial(take_next_income, now=over)] * 4)
    assert {one.kind for one in outcomes} == {"done"}
    assert (books()["income"], books()["vat"], IncomeTaken.objects.count()) == (9000, 1800, 1)
