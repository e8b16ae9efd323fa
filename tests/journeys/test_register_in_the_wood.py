"""A guide takes the register along, loses the signal, closes the page, opens it again, ticks, and comes back."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

import pytest
import time_machine
from django.test import Client
from playwright.sync_api import Browser, BrowserContext, Page, expect
from pytest_django.live_server_helper import LiveServer

from bookings.attendance import attendees
from bookings.ground_rules import rules_in_force
from bookings.models import AttendanceMark, Booking, Look, RegisterCopy
from bookings.services.book_places import book_places
from bookings.services.declare import Answers, declare
from tests.cast import World

pytestmark = pytest.mark.browser
CODE = "beech mast 7"


@pytest.fixture
def morning(real_world: World) -> Iterator[Booking]:
    """Half an hour before the walk, with two adults who booked, one of whom declared."""
    names = ("Pat Partridge", "Quill Quince")
    booking = book_places(real_world.order(names=names), by="participant", now=real_world.now)
    pat = booking.party.people.earliest("pk")
    answers = Answers("", "", "", "", "Robin Partridge", "01632 960 003", "sibling", photos=False)
    declare(pat, answers, said_by="self", rules=rules_in_force(), by="participant", now=real_world.now)
    with time_machine.travel(real_world.walk.starts_at - timedelta(minutes=30), tick=True):
        yield booking


@pytest.fixture
def phone(browser: Browser, live_server: LiveServer, real_world: World) -> Iterator[BrowserContext]:
    """Gwen's phone, signed in, with the clock of the morning."""
    client = Client()
    client.force_login(real_world.gwen.user)
    with browser.new_context(viewport={"width": 360, "height": 740}) as context:
        context.set_default_timeout(20_000)
        cookie = client.cookies["sessionid"]
        context.add_cookies([{"name": cookie.key, "value": cookie.value, "url": live_server.url}])
        context.clock.install(time=real_world.walk.starts_at - timedelta(minutes=30))
        yield context


def take_along(phone: BrowserContext, live_server: LiveServer, booking: Booking) -> Page:
    page = phone.new_page()
    page.goto(f"{live_server.url}/staff/walks/{booking.offering.public_id}/1/day/register/")
    page.get_by_label("Code, eight signs or more").fill(CODE)
    page.get_by_role("button", name="Take it along").click()
    expect(page.get_by_text("Ready for the wood: 2 people kept and read back")).to_be_visible()
    return page


def open_in_the_wood(phone: BrowserContext, live_server: LiveServer) -> Page:
    page = phone.new_page()
    page.goto(f"{live_server.url}/register/")
    page.get_by_label("Your code").fill(CODE)
    page.get_by_role("button", name="Open it").click()
    expect(page.get_by_text("Pat Partridge")).to_be_visible()
    return page


def test_ticks_without_signal_are_neither_lost_nor_doubled(
    phone: BrowserContext, live_server: LiveServer, morning: Booking
) -> None:
    take_along(phone, live_server, morning).close()
    assert Look.objects.filter(what="emergency").count() == 1
    phone.set_offline(True)
    page = open_in_the_wood(phone, live_server)
    page.get_by_role("button", name="Here: Pat Partridge", exact=True).click()
    expect(page.get_by_role("button", name="Send 1 tick")).to_be_visible()
    page.close()

    page = open_in_the_wood(phone, live_server)
    expect(page.get_by_role("link", name="Ring Robin Partridge")).to_have_attribute("href", "tel:01632 960 003")
    page.get_by_role("button", name="Not here: Quill Quince").click()
    expect(page.get_by_role("button", name="Send 2 ticks")).to_be_visible()
    assert not AttendanceMark.objects.exists()

    phone.set_offline(False)
    expect(page.get_by_text("All ticks are sent.")).to_be_visible()
    page.evaluate("registerStore.send()")
    assert [one.standing for one in attendees(morning.offering.walks.get())] == ["present", "absent"]
    assert AttendanceMark.objects.count() == 2


def test_the_copy_is_sealed_and_goes_after_ten_wrong_codes(
    phone: BrowserContext, live_server: LiveServer, morning: Booking
) -> None:
    page = take_along(phone, live_server, morning)
    kept = page.evaluate(
        "registerStore.copies().then(([one]) => JSON.stringify(one) + new TextDecoder().decode(one.body))"
    )
    assert "Partridge" not in kept
    cached = page.evaluate(
        "caches.keys().then(async (names) => (await (await caches.open(names[0])).keys()).map((one) => one.url))"
    )
    assert [one for one in cached if "/staff/" in one] == []
    page.goto(f"{live_server.url}/register/")
    for left in range(9, -1, -1):
        page.get_by_label("Your code").fill("wrong")
        page.get_by_role("button", name="Open it").click()
        if left:
            expect(page.get_by_text(f"Not that code. {left} more tries")).to_be_visible()
    expect(page.get_by_text("This device carries no register.")).to_be_visible()
    assert page.evaluate("registerStore.copies()") == []


def test_a_revoked_copy_deletes_itself_and_so_does_signing_out(
    phone: BrowserContext, live_server: LiveServer, morning: Booking
) -> None:
    page = take_along(phone, live_server, morning)
    page.reload()
    page.get_by_role("button", name="Revoke, the device is lost").click()
    expect(page.get_by_text("Revoked. Ticks that were only on that device")).to_be_visible()
    assert RegisterCopy.objects.get().revoked_at is not None
    page.goto(f"{live_server.url}/register/")
    expect(page.get_by_text("This device carries no register.")).to_be_visible()
    page.close()

    page = take_along(phone, live_server, morning)
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url(lambda address: "/staff/" not in address)
    page.goto(f"{live_server.url}/register/")
    expect(page.get_by_text("This device carries no register.")).to_be_visible()
