"""The ledger: balanced by construction, conserved by every act, and closed to everybody who would change it."""

from __future__ import annotations

from contextlib import suppress
from datetime import timedelta

import pytest
from django.db import DatabaseError, connection, transaction
from hypothesis import given, settings
from hypothesis import strategies as st

from bookings.chart_of_accounts import ACCOUNTS, ensure_accounts
from bookings.models import Booking, LedgerAccount, Transfer
from bookings.queries import balance, balances, coming_back, paid
from bookings.services.book_places import book_places
from bookings.services.call_off_walk import call_off_walk
from bookings.services.cancel_booking import cancel_booking
from bookings.services.ledger import transfer
from bookings.services.record_payment import record_payment
from foraywright.floor.acts import act
from foraywright.floor.refusals import Refusal
from tests.bookings.books import accounts, rolled_back
from tests.cast import World

pytestmark = pytest.mark.database


STEPS = st.lists(
    st.one_of(
        st.tuples(st.just("book"), st.integers(1, 4)),
        st.tuples(st.just("pay"), st.integers(1, 9000)),
        st.tuples(st.just("cancel"), st.integers(0, 18)),
        st.tuples(st.just("call off"), st.just(0)),
    ),
    min_size=1,
    max_size=12,
)


@given(STEPS)
@settings(max_examples=40, deadline=None)
def run_steps(world: World, steps: list[tuple[str, int]]) -> None:
    with rolled_back():
        bookings: list[Booking] = []
        received = 0
        for what, number in steps:
            with suppress(Refusal):
                received += _take(world, bookings, what, number)
            check(bookings, received)


def _take(world: World, bookings: list[Booking], what: str, number: int) -> int:
    """Do one act; return what was received."""
    if what == "book":
        bookings.append(book_places(world.order(*["adult"] * number), by="participant", now=world.now))
    elif what == "call off":
        call_off_walk(world.offering, why="Storm.", by=world.olive, now=world.now)
    elif bookings and what == "cancel":
        cancel_booking(bookings[-1], by="participant", now=world.now + timedelta(days=number))
    elif bookings:
        record_payment(bookings[-1], into="bank", amount_minor=number, by=world.olive, now=world.now)
        return number
    return 0


def check(bookings: list[Booking], received: int) -> None:
    sums = accounts()
    assert sum(sums.values()) == 0
    assert sums["bank"] == received
    kept = -sums["deferred_income"] - sums["vat"]
    assert max(sums["deferred_income"], sums["vat"]) <= 0
    promised = sums["refunds_due"] + sums["awaiting_choice"]
    assert received + sums["receivable"] == kept - promised - sums["unmatched"]
    assert sums["receivable"] == sum(balance(one) for one in bookings)
    assert sum(paid(one) for one in bookings) == received
    assert -promised == sum(coming_back(one) for one in bookings)
    for one in Booking.objects.exclude(state=Booking.State.CONFIRMED):
        assert balance(one) >= 0


def test_no_order_of_acts_loses_or_makes_a_penny(world: World) -> None:
    run_steps(world)


def test_the_balances_of_a_walk_are_those_of_its_bookings(world: World) -> None:
    one, two = (book_places(world.order(), by="participant", now=world.now) for _ in range(2))
    record_payment(one, into="cash", amount_minor=1000, by=world.olive, now=world.now)
    assert balances(world.offering) == {one.pk: 2600, two.pk: 3600}


def test_the_chart_is_whole_and_is_made_once(world: World) -> None:
    ensure_accounts()
    assert set(LedgerAccount.objects.values_list("key", flat=True)) == set(ACCOUNTS)


@act
def _transfer(**changes: object) -> None:
    values = {"debit": "bank", "credit": "cash", "amount_minor": 5, "currency": "GBP", "booking": None}
    transfer(Transfer.Kind.PAYMENT, **(values | changes))  # type: ignore[arg-type]


def test_nothing_is_written_for_nothing(world: World) -> None:
    _transfer(amount_minor=0, now=world.now)
    assert not Transfer.objects.exists()
    _transfer(now=world.now)
    assert Transfer.objects.get().amount_minor == 5


@pytest.mark.parametrize("changes", [{"amount_minor": -5}, {"credit": "bank"}])
def test_the_database_refuses_what_is_no_transfer(world: World, changes: dict[str, object]) -> None:
    with pytest.raises(
        DatabaseError, match=r"transfer_of_more_than_nothing|amount_minor|transfer_between_two_accounts"
    ):
        _transfer(**changes, now=world.now)


@pytest.mark.parametrize(
    ("sql", "message"),
    [
        ("UPDATE bookings_transfer SET amount_minor = 1", "Ledger transfers are never changed; write a new one."),
        ("DELETE FROM bookings_transfer", "Ledger transfers are never deleted."),
    ],
)
def test_the_database_refuses_to_change_the_ledger(world: World, sql: str, message: str) -> None:
    book_places(world.order(), by="participant", now=world.now)
    with pytest.raises(DatabaseError, match=message), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(sql)
    assert Transfer.objects.get().amount_minor == 3600
