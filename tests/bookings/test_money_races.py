"""Money that many want at once, on two offerings so that no lock on places keeps them apart: each penny goes once."""

from __future__ import annotations

from collections import Counter
from datetime import timedelta
from functools import partial

import pytest
from django.db.models import Sum

from bookings.card_provider import practice_notice, signed_notice
from bookings.models import BankLine, Booking, DiscountUse, Transfer, Voucher
from bookings.queries import balance, coming_back, paid
from bookings.services.book_places import book_places
from bookings.services.issue_voucher import issue_voucher
from bookings.services.keep_discount_code import Terms, issue_discount_code
from bookings.services.match_bank_line import match_bank_line, return_bank_line
from bookings.services.note_chargeback import note_chargeback
from bookings.services.order_voucher import order_voucher
from bookings.services.pay_by_voucher import pay_by_voucher
from bookings.services.pay_voucher_back import pay_voucher_back
from bookings.services.receive_card_notice import receive_card_notice
from bookings.services.settle_chargeback import settle_chargeback
from bookings.services.start_card_payment import start_voucher_payment
from bookings.services.take_in_statement import take_in_and_match
from bookings.vouchers import left_on, taken_off
from foraywright.floor.ids import new_secret
from foraywright.floor.models import Business
from tests.bookings.race import together
from tests.bookings.statements import Entry, statement
from tests.bookings.test_places_races import another
from tests.bookings.test_races import kinds
from tests.cast import World
from walks.models import Offering

pytestmark = pytest.mark.database


def book(world: World, offering: Offering, **changes: object) -> Booking:
    return book_places(world.order("adult", offering=offering, **changes), by="participant", now=world.now)


def two_offerings(world: World) -> tuple[Offering, Offering]:
    return world.offering, another(world)


def test_sixteen_want_the_last_use_of_a_discount_code(real_world: World) -> None:
    world, today = real_world, real_world.now.date()
    terms = Terms(
        code="LAST", label="Last", first_day=today, last_day=today + timedelta(days=9), percent=50, most_uses=1
    )
    issue_discount_code(terms, by=world.olive, now=world.now)
    offerings = two_offerings(world)
    outcomes = together([partial(book, world, offerings[n % 2], discount="last") for n in range(16)])
    assert kinds(outcomes) == {"done": 1, "refused": 15}
    assert all("used as often as it may be" in one.words for one in outcomes if one.kind == "refused")
    assert DiscountUse.objects.count() == Booking.objects.count() == 1
    assert balance(Booking.objects.get()) == 900


def test_sixteen_spend_one_voucher(real_world: World) -> None:
    world = real_world
    voucher = issue_voucher(value_minor=5000, into="cash", key=new_secret(), by=world.olive, now=world.now)
    bookings = [book(world, offering) for offering in two_offerings(world) for _ in range(8)]
    outcomes = together(
        [partial(pay_by_voucher, one, voucher.code, by="participant", now=world.now) for one in bookings]
    )
    assert kinds(outcomes) == {"done": 3, "refused": 13}
    assert sorted(one.words for one in outcomes if one.kind == "done") == ["1400", "1800", "1800"]
    spent = Transfer.objects.filter(debit__key="vouchers_out").aggregate(sum=Sum("amount_minor"))["sum"]
    assert (left_on(voucher), spent) == (0, 5000)
    assert sum(paid(one) for one in bookings) == 5000


def test_a_bank_line_that_two_people_match_and_one_sends_back_is_settled_once(real_world: World) -> None:
    world = real_world
    bookings = [book(world, offering) for offering in two_offerings(world)]
    take_in_and_match(statement(Entry("18.00", "no reference")), by=world.olive, now=world.now)
    line = BankLine.objects.get()
    matches = [partial(match_bank_line, line, one, by=world.olive, now=world.now) for one in bookings * 4]
    back = partial(return_bank_line, line, reason="not ours", by=world.olive, now=world.now)
    outcomes = together([*matches, back])
    assert kinds(outcomes) == {"done": 1, "refused": 8}
    line.refresh_from_db()
    received = {one.pk: paid(one) for one in bookings}
    assert received == {one.pk: 1800 if one == line.booking else 0 for one in bookings}
    assert not any(coming_back(one) for one in bookings)
    sums: Counter[str] = Counter()
    for debit, credit, amount in Transfer.objects.values_list("debit__key", "credit__key", "amount_minor"):
        sums[debit] += amount
        sums[credit] -= amount
    assert (sums["unmatched"], sums["bank"]) == (0, 1800 if line.booking else 0)


def test_eight_notices_of_one_card_payment_issue_one_voucher(real_world: World) -> None:
    world = real_world
    Business.objects.update(is_demonstration=True)
    order = order_voucher(5000, key="k", by="participant", now=world.now)
    payment = start_voucher_payment(order, by="participant", now=world.now)
    told = [practice_notice(payment, "pay") for _ in range(8)]
    acts = [partial(receive_card_notice, payment, signed_notice(payment, one), now=world.now) for one in told if one]
    assert kinds(together(acts)) == {"done": 8}
    voucher = Voucher.objects.get()
    assert (left_on(voucher), voucher.transfers.filter(kind="payment").count()) == (5000, 1)


def test_a_voucher_is_spent_or_paid_back_or_taken_off_and_never_twice(real_world: World) -> None:
    world = real_world
    voucher = issue_voucher(value_minor=5000, into="cash", key=new_secret(), by=world.olive, now=world.now)
    noted = note_chargeback(voucher, None, amount_minor=2000, key=new_secret(), by=world.olive, now=world.now)
    settle = partial(settle_chargeback, noted, state="taken_off", reason="", by=world.olive, now=world.now)
    bookings = [book(world, offering) for offering in two_offerings(world) for _ in range(3)]
    spend = [partial(pay_by_voucher, one, voucher.code, by="participant", now=world.now) for one in bookings]
    told = {"out_of": "cash", "reason": "Changed their mind.", "by": world.olive, "now": world.now}
    back = [partial(pay_voucher_back, voucher, seen=left, **told) for left in (5000, 3000, 1200)]
    outcomes = together([settle, *spend, *back])
    assert not [one for one in outcomes if one.kind == "fault"]
    spent = sum(paid(one) for one in bookings)
    went = sum(voucher.transfers.filter(kind="refund").values_list("amount_minor", flat=True))
    assert taken_off(voucher) == min(2000, 5000 - spent - went)
    assert left_on(voucher) == 5000 - spent - went - taken_off(voucher)
