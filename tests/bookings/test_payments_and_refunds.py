"""Payments noted by hand and refunds paid out: each form once, and back the way the money came."""

from __future__ import annotations

from datetime import timedelta

import pytest
import time_machine

from bookings.compute.repaying import left_of, shared_by_means
from bookings.errors import NotPaidOut
from bookings.models import Booking, Transfer
from bookings.queries import balance, means_of, paid, refund_due
from bookings.services.book_places import book_places
from bookings.services.cancel_booking import cancel_booking
from bookings.services.pay_refund import pay_refund
from bookings.services.promise_back import promise_back
from bookings.services.record_payment import record_payment
from tests.cast import World
from tests.pages import signed_in

pytestmark = pytest.mark.database


@pytest.fixture
def booking(world: World) -> Booking:
    return book_places(world.order(), by="participant", now=world.now)


def test_money_goes_back_by_the_newest_payment_first() -> None:
    came = [("cash", 1000), ("bank", 2600), ("cash", 300)]
    assert shared_by_means(1500, came) == [("cash", 1000), ("bank", 500)]
    assert shared_by_means(3900, came) == [("cash", 1300), ("bank", 2600)]
    assert left_of(came, [("cash", 400), ("cash", 700)]) == [("bank", 2600), ("cash", 200)]
    assert shared_by_means(0, came) == []


def test_a_refund_is_paid_once_and_never_beyond_what_is_promised(world: World, booking: Booking) -> None:
    record_payment(booking, into="bank", amount_minor=3000, by=world.olive, now=world.now)
    record_payment(booking, into="cash", amount_minor=600, by=world.olive, now=world.now + timedelta(hours=1))
    cancel_booking(booking, by="participant", now=world.now + timedelta(hours=2))
    assert shared_by_means(refund_due(booking), means_of(booking)) == [("cash", 600), ("bank", 3000)]

    def pay(out_of: str, amount: int, key: str) -> bool:
        return pay_refund(
            booking, out_of=out_of, amount_minor=amount, key=key, by=world.olive, now=world.now + timedelta(hours=3)
        )

    assert [pay("cash", 600, "a"), pay("cash", 600, "a")] == [True, False]
    assert (refund_due(booking), means_of(booking)) == (3000, [("bank", 3000)])
    for out_of, amount in (("bank", 3001), ("bank", 0), ("income", 5)):
        with pytest.raises(NotPaidOut):
            pay(out_of, amount, "b")
    assert pay("bank", 3000, "b")
    with pytest.raises(NotPaidOut, match="noted before"):
        pay("bank", 1, "c")
    assert (paid(booking), refund_due(booking), means_of(booking)) == (0, 0, [])


def test_what_came_beyond_is_promised_back_once(world: World, booking: Booking) -> None:
    cancel_booking(booking, by="participant", now=world.now)
    record_payment(booking, into="bank", amount_minor=500, by=world.olive, now=world.now)
    for _ in range(2):
        promise_back(booking, by=world.olive, now=world.now)
    assert refund_due(booking) == 500


def test_the_guide_notes_cash_at_the_meeting_point_once(world: World, booking: Booking) -> None:
    gwen, address = signed_in(world.gwen.user), f"/staff/bookings/{booking.code}/payment/"
    with time_machine.travel(world.now, tick=False):
        page = gwen.get(address).content.decode()
        assert 'value="36.00"' in page
        assert "Bank transfer" not in page
        for _ in range(2):
            assert gwen.post(address, {"key": "k", "into": "cash", "amount": "36.00"}).status_code == 302
        assert gwen.post(address, {"key": "l", "into": "bank", "amount": "1.00"}).status_code == 422
        assert gwen.post(address, {"key": "l", "into": "cash", "amount": "a lot"}).status_code == 422
    assert (balance(booking), paid(booking)) == (0, 3600)


def test_the_office_pays_a_refund_on_its_page(world: World, booking: Booking) -> None:
    record_payment(booking, into="bank", amount_minor=3700, by=world.olive, now=world.now)
    olive, address = signed_in(world.olive), f"/staff/bookings/{booking.code}/refund/"
    assert "£1.00 was promised back" in olive.get(address).content.decode()
    refused = olive.post(address, {"key": "k", "out_of": "bank", "amount": "2.00"})
    assert (refused.status_code, b"No refund was noted." in refused.content) == (422, True)
    for _ in range(2):
        olive.post(address, {"key": "k", "out_of": "bank", "amount": "1,00"})
    assert Transfer.objects.filter(kind="refund").count() == 1
    assert "Nothing is left to pay back" in olive.get(address).content.decode()
