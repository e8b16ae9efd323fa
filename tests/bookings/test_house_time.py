"""Days of money and papers are counted by the business's own clock, and a zone that nobody knows breaks no page."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
import time_machine
from django.core.management import call_command
from django.test import Client
from django.urls import reverse

from bookings.models import Booking, Voucher
from bookings.services.book_places import book_places
from bookings.services.booking_link import booking_link
from bookings.services.cancel_booking import cancel_booking
from bookings.services.hold_places import hold_places
from bookings.services.issue_invoice import issue_invoice
from bookings.services.issue_voucher import VALID, issue_voucher
from bookings.services.pay_by_voucher import pay_by_voucher
from bookings.services.return_to_vouchers import GOOD_FOR
from bookings.vat_return import tax_points
from foraywright.floor.ids import new_secret
from foraywright.floor.models import Business
from tests.cast import World
from tests.pages import words_of

pytestmark = pytest.mark.database
GONE = "Atlantis/Old_Town"
EVENING = datetime(2026, 9, 14, 13, 0, tzinfo=UTC)
"""In Auckland it is one in the morning of the next day."""
NEXT_DAY = date(2026, 9, 15)


def sell(world: World, now: datetime) -> Voucher:
    return issue_voucher(value_minor=5000, into="cash", key=new_secret(), by=world.olive, now=now)


@pytest.fixture
def auckland(world: World) -> World:
    Business.objects.update(zone="Pacific/Auckland")
    return world


def test_a_voucher_is_good_to_a_day_of_the_business(auckland: World) -> None:
    voucher = sell(auckland, EVENING)
    assert voucher.valid_to == NEXT_DAY + VALID
    booking = book_places(auckland.order(), by="participant", now=EVENING)
    pay_by_voucher(booking, voucher.code, by="participant", now=EVENING)
    Voucher.objects.update(valid_to=NEXT_DAY)
    cancel_booking(booking, by="participant", now=EVENING)
    voucher.refresh_from_db()
    assert voucher.valid_to == NEXT_DAY + GOOD_FOR


def test_staff_read_times_by_the_clock_of_the_business(auckland: World, olive: Client) -> None:
    booking = book_places(auckland.order(), by="participant", now=EVENING)
    with time_machine.travel(EVENING, tick=False):
        page = words_of(olive.get(reverse("staff_booking", args=[booking.code])).content)
    assert "15 September 2026, 01:00" in page


@pytest.mark.usefixtures("september")
def test_whoever_booked_reads_the_time_of_the_walk(auckland: World, client: Client) -> None:
    held = hold_places(auckland.order(), by="participant", now=auckland.now)
    page = words_of(client.get(reverse("booking_page", args=[booking_link(held, now=auckland.now)])).content)
    assert "Held until Monday 14 September 2026, 10.20 am." in page


@pytest.mark.usefixtures("september")
def test_with_a_zone_that_nobody_knows_every_page_answers_and_today_says_so(world: World, olive: Client) -> None:
    booking = book_places(world.order(), by="participant", now=world.now)
    Business.objects.update(zone=GONE)
    invoice = issue_invoice(booking, buyer="Pat", by=world.olive, now=world.now)
    pay_by_voucher(booking, sell(world, world.now).code, by="participant", now=world.now)
    Booking.objects.filter(pk=booking.pk).update(
        state="held", hold_kind="offer", held_until=world.now + timedelta(hours=3)
    )
    names = ("staff_today", "staff_vouchers", "staff_vat_return", "staff_discounts", "staff_season", "staff_business")
    pages = [*(reverse(name) for name in names), reverse("staff_letter_text", args=["confirmation"])]
    assert {page: olive.get(page).status_code for page in pages} == dict.fromkeys(pages, 200)
    assert [one.day for one in tax_points(world.now.date(), world.now.date())]
    assert invoice.issued_on == world.now.date()
    today = words_of(olive.get(reverse("staff_today")).content)
    assert f"The business keeps time by a zone that the time-zone database does not know: “{GONE}”" in today
    call_command("work", once=True, verbosity=0)


@pytest.mark.usefixtures("september")
def test_nobody_keeps_another_zone_unawares(world: World, olive: Client) -> None:
    Business.objects.update(zone=GONE)
    zones = olive.get(reverse("staff_business")).content.decode().split('name="zone"')[1].split("<option")
    assert zones[1].startswith(' value="">')  # what a browser sends where nothing is selected
