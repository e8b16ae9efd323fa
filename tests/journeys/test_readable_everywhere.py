"""Every public page fits a phone and a desk, and passes the automatic part of WCAG 2.2 A and AA, in light and dark."""

from __future__ import annotations

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.utils import timezone
from playwright.sync_api import Browser, Page
from pytest_django.live_server_helper import LiveServer

from bookings.services.book_places import book_places
from bookings.services.booking_link import booking_link
from tests.cast import World

pytestmark = pytest.mark.browser

WALK = "/walks/the-bare-wood-2026-10-03/"
RULES = {"runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}}


def refused_form(page: Page) -> None:
    page.get_by_label("Adults").fill("-1")
    page.get_by_role("button", name="Book these places").click()
    page.get_by_role("alert").wait_for()


def pages(world: World) -> dict[str, str]:
    booking = book_places(world.order("adult", "4-8"), by="participant", now=world.now)
    own = f"/booking/{booking_link(booking, now=timezone.now())}/"
    return {
        "programme": "/",
        "courses": "/courses/",
        "walk": WALK,
        "form": f"{WALK}book/",
        "refused form": f"{WALK}book/",
        "booking": own,
        "cancel": f"{own}cancel/",
        "find": "/booking/",
        "forged": "/booking/no~link/",
        "species list": "/species/",
        "species": "/species/pleurotus-ostreatus/",
        "deadly species": "/species/amanita-phalloides/",
        "cautions": "/cautions/",
        "privacy": "/privacy/",
        "calendar": "/calendar/",
        "not found": "/nothing/",
    }


def faults_of(page: Page, name: str) -> list[str]:
    page.wait_for_load_state("networkidle")
    wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    found = [f"{name}: {wide} px wider than the window"] if wide > 0 else []
    for rule in Axe().run(page, options=RULES).response["violations"]:
        found.append(f"{name}: {rule['id']} at {rule['nodes'][0]['target']}")
    return found


@pytest.mark.parametrize(("width", "scheme"), [(360, "light"), (1280, "dark")])
def test_every_page_fits_and_reads(
    taught: World, live_server: LiveServer, browser: Browser, width: int, scheme: str
) -> None:
    faults: list[str] = []
    with browser.new_context(viewport={"width": width, "height": 800}, color_scheme=scheme) as context:
        page = context.new_page()
        for name, address in pages(taught).items():
            page.goto(live_server.url + address)
            if name == "refused form":
                refused_form(page)
            faults += faults_of(page, name)
    assert faults == []


def test_the_pages_ask_for_nothing_that_the_policy_forbids(taught: World, live_server: LiveServer, page: Page) -> None:
    complaints: list[str] = []
    page.on("console", lambda message: complaints.append(message.text) if message.type == "error" else None)
    addresses = {name: one for name, one in pages(taught).items() if name not in ("forged", "not found")}
    for address in addresses.values():
        page.goto(live_server.url + address)
    assert complaints == []
