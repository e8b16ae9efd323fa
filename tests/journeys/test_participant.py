"""A participant finds a walk, books it, gets the letter, opens the booking, carries the handout home."""

from __future__ import annotations

import io
import re
from email.message import EmailMessage

import icalendar
import pypdf
import pytest
from django.utils import timezone
from playwright.sync_api import Browser, Page, expect
from pytest_django.live_server_helper import LiveServer

from bookings.models import Booking
from bookings.services.book_places import book_places
from bookings.services.send_messages import send_next_message
from curriculum.services.build_document import build_next_document
from tests.bookings.mail_server import mail_server
from tests.cast import World

pytestmark = pytest.mark.browser


def send_letters(settings: object) -> EmailMessage:
    """What the worker does, against a real mail server; the one letter that it took."""
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"  # type: ignore[attr-defined]
    with mail_server() as (port, server):
        settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", port  # type: ignore[attr-defined]
        while send_next_message(now=timezone.now()):
            pass
    [letter] = server.accepted
    return letter


def fill_in(page: Page, *, adults: str = "2", child: str = "1") -> None:
    page.get_by_label("Adults").fill(adults)
    page.get_by_label("4 to 8").fill(child)
    page.get_by_label("Your name").fill("Pat Partridge")
    page.get_by_label("E-mail").fill("pat@example.org")
    page.get_by_label("We keep the ground rules").check()


def test_from_the_programme_to_the_sheets(
    taught: World, live_server: LiveServer, page: Page, browser: Browser, settings: object
) -> None:
    page.goto(live_server.url)
    page.get_by_role("link", name="The bare wood").click()
    expect(page.get_by_role("heading", name="What we hope to meet")).to_be_visible()
    page.get_by_role("spinbutton", name="Adults").fill("2")
    page.get_by_role("button", name="Book places").click()
    assert page.get_by_label("Adults").input_value() == "2"
    fill_in(page)
    page.get_by_role("button", name="Book these places").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_text("Your places are yours.")).to_be_visible()
    assert [one.band for one in Booking.objects.get().party.people.order_by("pk")] == ["adult", "adult", "4-8"]

    letter = send_letters(settings)
    assert letter["To"] == "pat@example.org"
    [entry] = [part for part in letter.iter_attachments() if part.get_content_type() == "text/calendar"]
    [event] = icalendar.Calendar.from_ical(entry.get_content()).walk("VEVENT")
    assert event["DTSTART"].dt == taught.walk.starts_at

    link = re.search(rf"{re.escape(live_server.url)}/booking/\S+?/(?=\s)", letter.get_body(("plain",)).get_content())
    with browser.new_context() as elsewhere:
        there = elsewhere.new_page()
        there.goto(link.group())
        expect(there.get_by_text("is confirmed")).to_be_visible()
        handout = there.get_by_role("link", name="The sheets for this walk").get_attribute("href")
        there.goto(live_server.url + handout)
        while build_next_document(now=timezone.now()):
            pass
        answer = elsewhere.request.get(live_server.url + handout)
        sheets = pypdf.PdfReader(io.BytesIO(answer.body()))
    assert answer.headers["content-type"] == "application/pdf"
    text = " ".join(one.extract_text() for one in sheets.pages)
    assert "Grey Oyster" in text
    assert "Angel" in text


def test_a_party_that_does_not_fit_is_told_which_limit_and_may_change_its_mind(
    taught: World, live_server: LiveServer, page: Page
) -> None:
    book_places(taught.order(*["adult"] * 10), by="participant", now=taught.now)
    page.goto(f"{live_server.url}/walks/the-bare-wood-2026-10-03/book/")
    fill_in(page, adults="3", child="0")
    page.get_by_role("button", name="Book these places").click()
    summary = page.get_by_role("alert")
    expect(summary).to_be_focused()
    expect(summary).to_contain_text("The landowner's permission allows 14 people, staff included; 12 are coming")
    expect(summary).to_contain_text("2 places remain")
    assert page.get_by_label("Your name").input_value() == "Pat Partridge"
    page.get_by_label("Adults").fill("2")
    page.get_by_role("button", name="Book these places").click()
    expect(page.get_by_text("Your places are yours.")).to_be_visible()


def test_without_javascript_it_books_names_and_cancels_as_well(
    taught: World, live_server: LiveServer, browser: Browser
) -> None:
    with browser.new_context(java_script_enabled=False) as context:
        page = context.new_page()
        page.goto(f"{live_server.url}/walks/the-bare-wood-2026-10-03/")
        page.get_by_role("button", name="Book places").click()
        fill_in(page, adults="1", child="0")
        page.get_by_role("button", name="Book these places").click()
        page.get_by_label("1. Adult").fill("Pat Partridge")
        page.get_by_role("button", name="Keep the names").click()
        assert "The names are kept." in page.content()
        page.get_by_role("link", name="Cancel the booking").click()
        page.get_by_role("button", name="Cancel the booking").click()
        assert "your places are free for others" in page.content()
    booking = Booking.objects.get()
    assert booking.state == Booking.State.CANCELLED
    assert booking.party.people.get().name == "Pat Partridge"
