"""A card that was taken at the meeting point and charged back: the states and the settlement of every chargeback."""

from __future__ import annotations

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from bookings.errors import NotMatched, NotPaidOut, NotRecorded
from bookings.models import Booking, Chargeback
from bookings.needs.money import chargebacks
from bookings.queries import balance, means_of, paid, refund_due
from bookings.services.book_places import book_places
from bookings.services.cancel_booking import cancel_booking
from bookings.services.note_chargeback import note_chargeback
from bookings.services.pay_refund import pay_refund
from bookings.services.record_payment import record_payment
from bookings.services.take_chargeback_back import reopen_chargeback, take_chargeback_back
from bookings.takings import takings_of
from foraywright.floor.compute.short_codes import spoken
from foraywright.floor.models import AuditLine
from tests.bookings.test_card_money import level, settle
from tests.cast import World
from tests.pages import signed_in, words_of

pytestmark = pytest.mark.database


@pytest.fixture
def booking(world: World) -> Booking:
    """Two adults: half at the meeting point, half by transfer."""
    booking = book_places(world.order("adult", "adult"), by="participant", now=world.now)
    for into in ("cash", "bank"):
        record_payment(booking, into=into, amount_minor=1800, by=world.olive, now=world.now)
    return booking


def note(world: World, booking: Booking, amount: int = 1800, key: str = "k" * 24) -> Chargeback:
    return note_chargeback(booking, None, amount_minor=amount, key=key, by=world.olive, now=world.now)


@pytest.fixture
def noted(world: World, booking: Booking) -> Chargeback:
    return note(world, booking)


def test_it_leaves_the_money_of_the_meeting_point_and_waits_for_a_person(world: World, booking: Booking) -> None:
    one = note(world, booking)
    assert note(world, booking) == one, "the same form again"
    assert level() == {"bank": 1800, "charged_back": 1800, "deferred_income": -3000, "vat": -600}
    assert (balance(booking), paid(booking), means_of(booking)) == (0, 1800, [("bank", 1800)])
    (told,) = chargebacks(world.now)
    assert f"took £18.00 back that was paid for booking {spoken(booking.code)}" in told.words
    line = AuditLine.objects.get(act="note chargeback")
    assert (line.actor, line.object_id) == (world.olive.public_id, booking.public_id)


def test_no_more_is_taken_back_than_came_at_the_meeting_point(world: World, booking: Booking) -> None:
    note(world, booking, 1000)
    before = level()
    for amount in (801, 0):
        with pytest.raises(NotRecorded, match="No more can be taken back"):
            note(world, booking, amount, key="l" * 24)
    assert level() == before


def test_it_is_owed_again_and_its_fee_goes_off_where_it_had_come_in(world: World, noted: Chargeback) -> None:
    settle(world, noted, "owed", fee=1500)
    assert (balance(noted.booking), level()["cash"], level()["provider_fees"]) == (1800, -1500, 1500)
    assert "card" not in level(), "the provider of the page has nothing to do with it"


def test_what_is_let_go_is_a_cost_of_its_walk(world: World, noted: Chargeback) -> None:
    settle(world, noted, "written_off", fee=1500)
    (takings,) = takings_of([world.offering])
    assert (takings.by_cards, level()["bad_debts"], balance(noted.booking)) == (1800 + 1500, 1800, 0)


def test_what_was_decided_for_us_stands_where_it_had_come_in(world: World, noted: Chargeback) -> None:
    settle(world, noted, "given_back")
    assert level() == {"bank": 1800, "cash": 1800, "deferred_income": -3000, "vat": -600}
    assert note(world, noted.booking, key="l" * 24).state == "waiting", "it can be taken back again"


def test_it_is_not_refunded_while_it_waits_and_meets_the_promise(
    world: World, booking: Booking, noted: Chargeback
) -> None:
    cancel_booking(booking, by="participant", now=world.now)
    assert refund_due(booking) == 3600
    with pytest.raises(NotPaidOut, match="Settle the chargeback first"):
        pay_refund(booking, out_of="bank", amount_minor=1800, key="r" * 24, by=world.olive, now=world.now)
    settle(world, noted, "owed")
    assert (refund_due(booking), balance(booking)) == (1800, 0)


def test_a_mistake_is_taken_back_step_by_step(world: World, booking: Booking, noted: Chargeback) -> None:
    settle(world, noted, "owed", fee=1500)
    reopen_chargeback(noted, reason="Mistyped.", by=world.olive, now=world.now)
    assert level() == {"bank": 1800, "charged_back": 1800, "deferred_income": -3000, "vat": -600}
    settle(world, noted, "given_back")
    note(world, booking, key="l" * 24)
    with pytest.raises(NotMatched, match="took the same money back since"):
        reopen_chargeback(noted, reason="Mistyped.", by=world.olive, now=world.now)
    again = Chargeback.objects.get(state="waiting")
    take_chargeback_back(again, reason="Paid in cash.", by=world.olive, now=world.now)
    assert level() == {"bank": 1800, "cash": 1800, "deferred_income": -3000, "vat": -600}


def test_no_notice_tells_of_the_meeting_point(noted: Chargeback) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        Chargeback.objects.update(provider_key="d1")


def test_the_office_notes_it_by_a_form(world: World, booking: Booking) -> None:
    office, page = signed_in(world.olive), reverse("staff_meeting_point_chargeback", args=[booking.code])
    assert page in office.get(f"/staff/bookings/{booking.code}/").text
    shown = words_of(office.get(page).content)
    assert "£18.00 came at the meeting point" in shown
    office.post(page, {"key": "k" * 24, "amount": "18.00"})
    one = Chargeback.objects.get()
    assert (one.booking, one.payment, one.amount_minor, one.currency) == (booking, None, 1800, "GBP")
    assert "Nothing came at the meeting point that was not taken back" in words_of(office.get(page).content)
    its_page = reverse("staff_chargeback", args=[one.public_id])
    assert its_page in office.get(page).text
    assert its_page in office.get(reverse("staff_cards")).text
    assert "by card at the meeting point" in words_of(office.get(its_page).content)


def test_what_came_by_transfer_alone_has_no_such_page(world: World) -> None:
    booking = book_places(world.order("adult"), by="participant", now=world.now)
    record_payment(booking, into="bank", amount_minor=1800, by=world.olive, now=world.now)
    page = reverse("staff_meeting_point_chargeback", args=[booking.code])
    assert page not in signed_in(world.olive).get(f"/staff/bookings/{booking.code}/").text


def test_who_pays_a_refund_is_told_of_what_the_card_holder_took_already(world: World, noted: Chargeback) -> None:
    cancel_booking(noted.booking, by="participant", now=world.now)
    client, page = signed_in(world.olive), reverse("staff_refund", args=[noted.booking.code])
    assert "took £18.00 of it back already" in words_of(client.get(page).content)
    settle(world, noted, "owed")
    assert refund_due(noted.booking) == 1800
    assert "of it back already" not in words_of(client.get(page).content)
