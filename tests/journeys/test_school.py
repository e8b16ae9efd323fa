"""A school's whole path in two browsers: asked, quoted, booked, named, paid in parts, changed by a new quote, ended.

At each step places, ledger, invoices and credit notes must say the same.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import timedelta

import pytest
import time_machine
from django.test import Client
from django.utils import timezone
from playwright.sync_api import Browser, Page, expect
from pytest_django import Settings
from pytest_django.live_server_helper import LiveServer

from bookings.compute.references import creditor_reference
from bookings.models import Booking, GroupEnquiry, Invoice
from bookings.queries import balance, credited, due, paid, refund_due, statement_of
from bookings.services.send_messages import send_next_message
from tests.bookings.mail_server import mail_server
from tests.bookings.statements import Entry, statement
from tests.bookings.test_groups import private
from tests.cast import World
from tests.conftest import NOW
from walks.models import Offering

__all__ = ["private"]
pytestmark = pytest.mark.browser


@pytest.fixture
def world(real_world: World, live_server: LiveServer, settings: Settings) -> Iterator[World]:
    """The cast in September; letters name the live server. The private walk stands on it."""
    settings.SITE_ADDRESS = live_server.url
    with time_machine.travel(NOW, tick=True):
        yield real_world


@pytest.fixture
def office(browser: Browser, live_server: LiveServer, world: World) -> Iterator[Page]:
    client = Client()
    client.force_login(world.olive)
    with browser.new_context(viewport={"width": 1280, "height": 900}) as context:
        context.set_default_timeout(20_000)
        cookie = client.cookies["sessionid"]
        context.add_cookies([{"name": cookie.key, "value": cookie.value, "url": live_server.url}])
        yield context.new_page()


class Post:
    """What the worker does, against a mail server on the loopback; every letter that it took."""

    def __init__(self, settings: Settings) -> None:
        settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
        self.settings = settings

    def link(self, kind: str) -> str:
        """Send what is due; the address of `kind` in the last letter that has one."""
        with mail_server() as (port, server):
            self.settings.EMAIL_HOST, self.settings.EMAIL_PORT = "127.0.0.1", port
            while send_next_message(now=timezone.now()):
                pass
        texts = [one.get_body(("plain",)).get_content() for one in server.accepted]
        assert {one["To"] for one in server.accepted} == {"rook@example.org"}
        return re.findall(rf"http://\S+/{kind}/[^/\s]+/(?=\s)", "\n".join(texts))[-1]


def ask(page: Page, live_server: LiveServer) -> None:
    page.goto(f"{live_server.url}/groups/")
    page.get_by_label("School or club").fill("Nether Wrack School")
    page.get_by_label("How many participants").fill("8")
    page.get_by_label("Leaders of your own").fill("2")
    page.get_by_label("Ages on the day").fill("9 and 10")
    page.get_by_label("Dates that would suit").fill("an October morning")
    page.get_by_label("Your name").fill("Tamsin Rook")
    page.get_by_label("E-mail").fill("rook@example.org")
    page.get_by_role("button", name="Ask for a quote").click()
    expect(page.get_by_role("heading", name="We have your enquiry")).to_be_visible()


def quote(office: Page, live_server: LiveServer, children: int, leaders: int) -> None:
    office.goto(f"{live_server.url}/staff/groups/{GroupEnquiry.objects.get().public_id}/")
    office.get_by_role("combobox", name="Walk").select_option(label="For the school")
    office.get_by_label("Leaders of theirs").fill(str(leaders))
    office.get_by_label("9 to 12").fill(str(children))
    office.get_by_label("Price of one participant").fill("11.00")
    last = (timezone.now() + timedelta(days=10)).date()
    office.get_by_label("Valid until").fill(f"{last:%Y-%m-%d}")
    office.get_by_role("button", name="Make the quote").click()
    expect(office.get_by_text("The letter with the link goes to rook@example.org")).to_be_visible()


def accept(page: Page, link: str, button: str) -> Booking:
    page.goto(link)
    page.get_by_label("We keep the ground rules").check()
    page.get_by_role("button", name=button).click()
    expect(page.get_by_role("heading", name="Who is coming")).to_be_visible()
    return Booking.objects.get()


def take_in(office: Page, live_server: LiveServer, booking: Booking, amount: str, name: str) -> None:
    """The bank's file with one transfer of the school under the booking's reference."""
    entry = Entry(amount, reference=name, structured=creditor_reference(booking.code), payer="Nether Wrack School")
    file = {"name": f"{name}.xml", "mimeType": "text/xml", "buffer": statement(entry, name=name)}
    office.goto(f"{live_server.url}/staff/money/")
    office.get_by_label("Bank statement (camt.053)").set_input_files(files=[file])
    office.get_by_role("button", name="Take in the statement").click()
    expect(office.get_by_text("Payments that found their booking: 1")).to_be_visible()


def invoiced() -> int:
    """Invoices less credit notes, in minor units."""
    sums = dict.fromkeys(Invoice.Kind.values, 0)
    for one in Invoice.objects.all():
        sums[one.kind] += one.total_minor
    return sums["invoice"] - sums["credit_note"]


def make_invoice(page: Page, there: str) -> None:
    page.goto(f"{there}invoices/")
    assert page.get_by_label("Name and address on it").input_value().startswith("Nether Wrack School")
    page.get_by_role("button", name="Make an invoice").click()
    expect(page.get_by_text("is ready.")).to_be_visible()


def assert_all_agrees(booking: Booking, *, people: int, costs: int, came: int, back: int = 0) -> None:
    """`people` have places; `costs`, `came` (net of refunds), `back` (promised): minor units."""
    booking.refresh_from_db()
    walk = booking.offering.walks.get()
    counted = statement_of(walk, now=timezone.now()).head_count
    assert counted.participants == walk.places_taken_shown == people
    assert booking.places.filter(given_back_at=None).count() == people
    assert due(booking) == costs == credited(booking, "deferred_income", "vat")
    assert (paid(booking), refund_due(booking)) == (came, back)
    assert balance(booking) == costs - came + back


def test_a_school_from_the_enquiry_to_the_cancelling(
    private: Offering, live_server: LiveServer, page: Page, office: Page, settings: Settings
) -> None:
    post = Post(settings)
    ask(page, live_server)
    quote(office, live_server, 8, 2)
    link = post.link("quote")
    booking = accept(page, link, "Accept and book")
    there = post.link("booking")
    assert_all_agrees(booking, people=10, costs=8800, came=0)

    page.goto(there)
    page.get_by_role("link", name="Bring them from a list").click()
    with page.expect_download() as ours:
        page.get_by_role("link", name="Take our list").click()
    head, *lines = ours.value.path().read_text(encoding="utf-8-sig").splitlines()
    filled = [f"{line.rstrip(',')},Person {number}" for number, line in enumerate(lines, start=1)]
    listed = {"name": "names.csv", "mimeType": "text/csv", "buffer": "\r\n".join([head, *filled]).encode()}
    page.locator("input[type=file]").set_input_files(files=[listed])
    page.get_by_role("button", name="Read the list").click()
    page.get_by_role("button", name="Keep the names").click()
    assert [one.name for one in booking.party.people.order_by("pk")] == [f"Person {n}" for n in range(1, 11)]

    make_invoice(page, there)
    assert invoiced() == 8800
    take_in(office, live_server, booking, "50.00", "first")
    assert_all_agrees(booking, people=10, costs=8800, came=5000)
    take_in(office, live_server, booking, "38.00", "second")
    page.goto(there)
    expect(page.get_by_text("Nothing is left to pay.")).to_be_visible()
    assert_all_agrees(booking, people=10, costs=8800, came=8800)

    expect(page.get_by_text("The size of a group stands in its quote")).to_be_visible()
    quote(office, live_server, 6, 2)
    fewer = post.link("quote")
    assert accept(page, fewer, "Accept and change the booking") == booking
    assert_all_agrees(booking, people=8, costs=6600, came=8800, back=2200)
    assert invoiced() == 0
    make_invoice(page, there)
    assert invoiced() == 6600
    page.goto(link)
    expect(page.get_by_text("There is a newer quote for you")).to_be_visible()

    office.goto(f"{live_server.url}/staff/bookings/{booking.code}/refund/")
    office.get_by_role("radio", name="Bank").check()
    office.get_by_label("Amount").fill("22.00")
    office.get_by_role("button", name="It has been paid").click()
    assert_all_agrees(booking, people=8, costs=6600, came=6600)

    quote(office, live_server, 8, 3)
    accept(page, post.link("quote"), "Accept and change the booking")
    assert_all_agrees(booking, people=11, costs=8800, came=6600)
    names = set(booking.party.people.values_list("name", flat=True))
    assert names >= {"Person 1", "Person 2", "Person 3"}
    make_invoice(page, there)
    assert invoiced() == 8800

    page.goto(f"{there}cancel/")
    page.get_by_role("button", name="Cancel the booking").click()
    expect(page.get_by_text("Your booking").filter(has_text="is cancelled")).to_be_visible()
    assert_all_agrees(booking, people=0, costs=0, came=6600, back=6600)
    assert invoiced() == 0
    office.goto(f"{live_server.url}/staff/groups/")
    expect(office.get_by_role("cell", name="booked as")).to_contain_text("cancelled")
