"""What pages and letters say of money where it came, or went, otherwise than usual."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
import time_machine
from bs4 import BeautifulSoup
from django.test import Client
from django.urls import reverse
from payments import PaymentError

from bookings.letters import letter
from bookings.models import Booking, CardPayment, OutboxMessage
from bookings.queries import coming_back
from bookings.services.book_places import book_places
from bookings.services.booking_link import booking_link
from bookings.services.call_off_walk import call_off_walk
from bookings.services.cancel_booking import cancel_booking
from bookings.services.change_walk import change_walk
from bookings.services.hold_places import hold_places
from bookings.services.record_payment import record_payment
from bookings.services.tell_of_changes import tell_of_next_change
from tests.bookings.test_card_payments import filled
from tests.cast import World
from tests.pages import signed_in, words_of
from walks.models import Offering
from walks.queries import slug_of
from walks.services.publish_walk import publish_walk
from walks.services.schedule_walk import schedule_walk
from walks.services.sessions import session_of

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("september")]
UNDER_WAY = datetime(2026, 10, 19, 12, tzinfo=ZoneInfo("Europe/London"))
"""Two of three mornings of the course are over."""


def pay(world: World, booking: Booking, amount: int) -> None:
    record_payment(booking, into="bank", amount_minor=amount, by=world.olive, now=world.now)


def page_of(booking: Booking, name: str = "booking_page") -> str:
    return reverse(name, args=[booking_link(booking, now=booking.booked_at)])


def newest_letter(kind: str, *, now: datetime) -> str:
    text = str(letter(OutboxMessage.objects.filter(kind=kind).latest("pk"), now=now).body)
    return " ".join(text.split())


@pytest.fixture
def course(world: World) -> Offering:
    days = (date(2026, 10, 10), date(2026, 10, 17), date(2026, 10, 24))
    plan = world.plan(*(world.session(local_date=day) for day in days), title="Three mornings")
    return publish_walk(schedule_walk(plan, by=world.olive, now=world.now), by=world.olive, now=world.now)


@pytest.fixture
def changed(world: World, course: Offering) -> Booking:
    """Paid for two, attended twice; then the third morning was put off by a day."""
    booking = book_places(world.order(offering=course), by="participant", now=world.now)
    pay(world, booking, 3600)
    last = course.walks.latest("starts_at")
    another_day = replace(session_of(last), local_date=date(2026, 10, 25))
    change_walk(last, another_day, why="The road is closed.", by=world.olive, now=UNDER_WAY)
    return booking


def test_what_comes_after_a_cancellation_is_neither_kept_nor_forgotten(world: World, client: Client) -> None:
    booking = book_places(world.order(), by="participant", now=world.now)
    cancel_booking(booking, by="participant", now=world.now)
    pay(world, booking, 3600)
    waits = "£36.00 came when nothing was owed: we find out what it was meant for, or pay it back."
    told = newest_letter("payment", now=world.now)
    assert waits in told
    assert "nothing goes back" not in told
    shown = words_of(client.get(page_of(booking)).content)
    assert "Came beyond it £36.00" in shown
    assert "Nothing is owed on either side" not in shown


def test_a_payment_in_part_for_held_places_is_told_as_that(world: World) -> None:
    pay(world, hold_places(world.order(), by="participant", now=world.now), 1000)
    told = newest_letter("payment", now=world.now)
    assert "It counts towards the £36.00 that your places cost." in told
    assert "nothing goes back" not in told


def test_from_a_course_under_way_one_leaves_on_the_page_for_what_is_to_come(changed: Booking, client: Client) -> None:
    with time_machine.travel(UNDER_WAY + timedelta(minutes=5), tick=False):
        shown = words_of(client.get(page_of(changed)).content)
        assert "you may cancel what is still to come and get that back" in shown
        assert "Change who comes" not in shown
        page = client.get(page_of(changed, "booking_cancel"))
        terms = words_of(page.content)
        assert "Of it held already, or kept before £24.00" in terms
        assert "Of the rest we let go 100 %, and keep in all £24.00" in terms
        assert "Comes back to you £12.00" in terms
        mark = BeautifulSoup(page.content, "html.parser").find("input", {"name": "seen"})["value"]
        client.post(page_of(changed, "booking_cancel"), {"seen": mark})
    changed.refresh_from_db()
    assert (changed.state, coming_back(changed)) == (Booking.State.CANCELLED, 1200)


@pytest.mark.usefixtures("changed")
def test_the_letter_of_a_course_under_way_offers_what_its_page_does() -> None:
    later = UNDER_WAY + timedelta(hours=1)
    tell_of_next_change(now=later)
    told = newest_letter("walk_changed", now=later)
    assert "you may leave free of charge (what was held already stays paid); £12.00 would come back to you" in told
    assert "move to another walk" not in told


def test_the_office_reads_what_was_held_before_it_cancels(world: World, changed: Booking) -> None:
    with time_machine.travel(UNDER_WAY + timedelta(minutes=5), tick=False):
        shown = words_of(signed_in(world.olive).get(reverse("staff_cancel", args=[changed.code])).content)
    assert "Of £36.00, less £24.00 for what was held already or kept before, 100 % comes back" in shown


def test_a_voucher_is_offered_for_what_waits_and_not_for_what_goes_back_already(world: World, client: Client) -> None:
    booking = book_places(world.order(), by="participant", now=world.now)
    pay(world, booking, 4000)
    call_off_walk(world.offering, why="Storm.", by=world.olive, now=world.now)
    asked = words_of(client.post(page_of(booking, "booking_choose_voucher")).content)
    assert "You get a voucher for £36.00, and not the money." in asked


@pytest.mark.usefixtures("practice_cards")
def test_held_places_are_not_called_booked_where_the_card_page_does_not_open(
    world: World, client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(payment: CardPayment) -> None:
        raise PaymentError("down")

    monkeypatch.setattr(CardPayment, "get_form", fail)
    answer = client.post(reverse("book", args=[slug_of(world.offering.public_id)]), filled(world), follow=True)
    shown = words_of(answer.content)
    assert "Your places are held. Keep this page’s address" in shown
    assert "Your places are yours" not in shown


def test_terms_of_a_course_say_what_comes_back_once_it_is_under_way(
    world: World, course: Offering, client: Client
) -> None:
    under_way = "everything comes back, of a course under way what was not yet held."
    assert under_way in words_of(client.get(reverse("walk_page", args=[slug_of(course.public_id)])).content)
    walk = client.get(reverse("walk_page", args=[slug_of(world.offering.public_id)]))
    assert "If we call it off, everything comes back." in words_of(walk.content)
