"""Noting money that came in."""

from __future__ import annotations

import pytest

from bookings.errors import NotRecorded
from bookings.models import Booking, Transfer
from bookings.queries import balance, coming_back, paid
from bookings.services.book_places import book_places
from bookings.services.cancel_booking import cancel_booking
from bookings.services.record_payment import record_payment
from foraywright.floor.models import AuditLine
from tests.cast import World

pytestmark = pytest.mark.database


@pytest.fixture
def booking(world: World) -> Booking:
    return book_places(world.order(), by="participant", now=world.now)


@pytest.mark.parametrize("into", ["bank", "cash"])
def test_lowers_the_balance_and_is_in_the_audit_without_the_amount(world: World, booking: Booking, into: str) -> None:
    record_payment(booking, into=into, amount_minor=1500, by=world.olive, now=world.now)
    assert (balance(booking), paid(booking)) == (2100, 1500)
    one = Transfer.objects.get(kind="payment")
    assert (one.debit.key, one.credit.key, one.currency, one.at) == (into, "receivable", "GBP", world.now)
    line = AuditLine.objects.get(act="record payment")
    assert (line.actor, line.fields, line.reason) == (world.olive.public_id, ["balance"], "")


def test_what_is_paid_twice_is_promised_back_at_once(world: World, booking: Booking) -> None:
    for _ in range(2):
        record_payment(booking, into="bank", amount_minor=3600, by=world.olive, now=world.now)
    assert (balance(booking), coming_back(booking), paid(booking)) == (0, 3600, 7200)


@pytest.mark.parametrize(
    ("into", "amount", "why"),
    [
        ("bank", 0, "A payment is more than nothing."),
        ("cash", -1, "A payment is more than nothing."),
        ("income", 5, "“income” is no account that takes money; bank and cash are."),
        ("receivable", 5, "“receivable” is no account that takes money; bank and cash are."),
    ],
)
def test_what_is_no_payment_is_refused(world: World, booking: Booking, into: str, amount: int, why: str) -> None:
    with pytest.raises(NotRecorded) as refused:
        record_payment(booking, into=into, amount_minor=amount, by=world.olive, now=world.now)
    assert refused.value.sentence == f"The payment was not recorded. {why} The balance stays as it was."
    assert not Transfer.objects.filter(kind="payment").exists()
    assert not AuditLine.objects.filter(act="record payment").exists()


def test_late_money_of_a_cancelled_booking_waits_for_a_person(world: World, booking: Booking) -> None:
    cancel_booking(booking, by="participant", now=world.walk.starts_at.replace(day=1))
    assert balance(booking) == 3600
    record_payment(booking, into="bank", amount_minor=4000, by=world.olive, now=world.now)
    assert balance(booking) == 0
    amounts = Transfer.objects.filter(kind="payment").order_by("pk").values_list("credit__key", "amount_minor")
    assert list(amounts) == [("receivable", 3600), ("unmatched", 400)]
