"""A debt that nobody will pay is written off once, with a reason, and money that comes after all makes it good."""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
import time_machine
from django.urls import reverse

from bookings.compute.refunds import Settlement
from bookings.errors import NotRecorded
from bookings.models import Booking, Transfer
from bookings.queries import balance, coming_back
from bookings.services.book_places import book_places
from bookings.services.cancel_booking import cancel_booking
from bookings.services.record_payment import record_payment
from bookings.services.write_off_debt import write_off_debt
from bookings.today import what_needs_somebody
from foraywright.floor.models import AuditLine
from foraywright.floor.refusals import SeenOtherwise
from tests.bookings.books import accounts
from tests.cast import OFFICE, World
from tests.pages import signed_in, words_of

pytestmark = pytest.mark.database
HALF_BACK = datetime(2026, 9, 22, 12, tzinfo=ZoneInfo("Europe/London"))
AFTER = datetime(2026, 10, 5, 12, tzinfo=ZoneInfo("Europe/London"))


@pytest.fixture
def booking(world: World) -> Booking:
    return book_places(world.order(), by="participant", now=world.now)


def write_off(world: World, booking: Booking, *, seen: str | None = None, reason: str = "Gone away.") -> None:
    write_off_debt(booking, reason=reason, seen=seen, by=world.olive, now=AFTER)


def lines(now: datetime, part: str) -> list[str]:
    return [one.words for one in what_needs_somebody(OFFICE, now=now) if part in one.words]


def test_after_the_walk_a_debt_is_let_go_and_nobody_is_asked_for_it_any_more(world: World, booking: Booking) -> None:
    assert lines(AFTER, "did not come in time")
    write_off(world, booking, seen="3600")
    assert (balance(booking), accounts()["bad_debts"]) == (0, 3600)
    assert Transfer.objects.get(kind="write_off").amount_minor == 3600
    assert not lines(AFTER, "did not come in time")
    assert AuditLine.objects.get(act="write off debt").why == "Gone away."


def test_what_a_cancelled_booking_owes_is_named_after_a_week_until_it_is_let_go(world: World, booking: Booking) -> None:
    cancel_booking(booking, by="participant", now=HALF_BACK)
    week = HALF_BACK + timedelta(days=7)
    assert not lines(week - timedelta(seconds=1), "which has ended")
    assert lines(week, "£18.00 is still owed for booking")
    write_off(world, booking)
    assert not lines(week, "which has ended")


def test_money_that_comes_after_all_makes_it_good(world: World, booking: Booking) -> None:
    write_off(world, booking)
    record_payment(booking, into="bank", amount_minor=4000, by=world.olive, now=AFTER)
    assert (accounts()["bad_debts"], balance(booking), coming_back(booking)) == (0, 0, 400)


def test_a_walk_to_come_nothing_owed_and_no_reason_are_refused(world: World, booking: Booking) -> None:
    with pytest.raises(NotRecorded, match="still to come: ask for the money, or cancel the booking"):
        write_off_debt(booking, reason="?", by=world.olive, now=world.now)
    with pytest.raises(NotRecorded, match="Say in a line why"):
        write_off(world, booking, reason=" ")
    record_payment(booking, into="bank", amount_minor=3600, by=world.olive, now=AFTER)
    with pytest.raises(NotRecorded, match="This booking owes nothing"):
        write_off(world, booking)


def test_another_amount_than_was_shown_is_not_written_off(world: World, booking: Booking) -> None:
    record_payment(booking, into="bank", amount_minor=1000, by=world.olive, now=AFTER)
    with pytest.raises(SeenOtherwise, match="Money has come"):
        write_off(world, booking, seen="3600")
    assert balance(booking) == 2600


def test_the_office_writes_off_on_a_page_that_asks_once(world: World, booking: Booking) -> None:
    with time_machine.travel(AFTER, tick=False):
        office, page = signed_in(world.olive), reverse("staff_write_off", args=[booking.code])
        assert page in office.get(reverse("staff_booking", args=[booking.code])).content.decode()
        assert "£36.00 is written off as lost and asked for no more" in words_of(office.get(page).content)
        assert office.post(page, {"seen": "3600"}).status_code == 422
        assert office.post(page, {"seen": "1", "reason": "Gone away."}).status_code == 409
        assert office.post(page, {"seen": "3600", "reason": "Gone away."}).status_code == 302
    assert balance(booking) == 0


def test_before_the_walk_the_page_offers_no_writing_off(world: World, booking: Booking) -> None:
    with time_machine.travel(world.now, tick=False):
        office, page = signed_in(world.olive), reverse("staff_write_off", args=[booking.code])
        assert page not in office.get(reverse("staff_booking", args=[booking.code])).content.decode()
        answer = office.get(page, follow=True)
    assert "The walk is still to come: ask for the money, or cancel the booking." in words_of(answer.content)


def test_what_was_let_go_is_neither_paid_nor_owed() -> None:
    terms = Settlement(3600, 600, 50, written_off=3000)
    assert (terms.kept, terms.back, terms.still_owed, terms.forgiven) == (1800, 0, 0, 0)
