"""From an empty database to a published walk, by forms alone."""

from __future__ import annotations

import re
from io import StringIO

import pytest
import time_machine
from django.core.management import call_command
from playwright.sync_api import Browser, Page, expect
from pytest_django.live_server_helper import LiveServer

from tests.cast import PASSWORD
from tests.conftest import NOW
from walks.models import Offering

pytestmark = pytest.mark.browser
FROM, TO = "2026-01-01", "2026-12-31"


def fill(page: Page, **values: str) -> None:
    """Fill the fields of the form by their names and send it."""
    for name, value in values.items():
        field = page.locator(f"main [name='{name}']").first
        if field.evaluate("one => one.tagName") == "SELECT":
            field.select_option(label=value)
        else:
            field.fill(value)
    send(page)


def send(page: Page) -> None:
    page.locator("main form").last.locator("[type=submit]").click()


def tick(page: Page, name: str, *values: str) -> None:
    for value in values:
        page.locator(f"main [name='{name}'][value='{value}']").check()


def take_up(page: Page, link: str) -> None:
    page.goto(link)
    fill(page, password=PASSWORD, again=PASSWORD)
    expect(page.get_by_text("The password is set.")).to_be_visible()


def sign_in(page: Page, username: str) -> None:
    fill(page, login=username, password=PASSWORD)
    expect(page.get_by_role("heading", name="Today")).to_be_visible()


def first_link(settings: object, live_server: LiveServer) -> str:
    settings.SITE_ADDRESS = live_server.url  # type: ignore[attr-defined]
    said = StringIO()
    call_command("first_steps", stdout=said)
    return re.search(r"^http\S+$", said.getvalue(), re.MULTILINE)[0]  # type: ignore[index]


def set_up_the_house(page: Page, start: str) -> None:
    page.goto(f"{start}/staff/business/")
    words = {"name": "Loft and Lane", "email": "office@example.org", "phone": "01632 960 100"}
    fill(page, **words, postal_address="The Loft", jurisdiction="England", calendar_domain="walks.example.org")
    expect(page.get_by_text("of 10 are done")).to_be_visible()
    page.goto(f"{start}/staff/policies/prices/")
    amounts = [one.get_attribute("name") or "" for one in page.locator("main input[type=number][required]").all()]
    fill(page, **dict.fromkeys(amounts, "0") | {"adult": "18.00", "vat": "0"})
    page.goto(f"{start}/staff/policies/refunds/")
    fill(page, days_1="14", percent_1="100", days_2="7", percent_2="50", days_3="0", percent_3="0")
    page.goto(f"{start}/staff/policies/ratios/")
    send(page)
    expect(page.get_by_text("Missing")).to_have_count(0)


def invite(page: Page, start: str, username: str, *roles: str) -> str:
    page.goto(f"{start}/staff/people/new/")
    tick(page, "roles", *roles)
    fill(page, username=username, name=username.title())
    return page.locator("main .mono a").inner_text()


def record_the_ground(page: Page, start: str) -> None:
    page.goto(f"{start}/staff/sites/new/")
    tick(page, "habitats", "rocky_shore")
    fill(page, name="Limpet Ledge", meeting_point="the slipway", reference="SU 387 148", most_people="16")
    page.get_by_role("link", name="Record a permission").click()
    fill(page, granted_by="The harbour board", valid_from=FROM, valid_to=TO, most_people="14")
    page.goto(f"{start}/staff/cover/new/")
    fill(page, insurer="Mutual", policy_number="M 1", valid_from=FROM, valid_to=TO, most_people="16")


def record_the_guide(page: Page, start: str) -> None:
    page.goto(f"{start}/staff/guides/new/")
    tick(page, "may_lead", "seaweed")
    fill(page, name="Gwen Guide")
    page.get_by_role("link", name="Add a certificate").click()
    fill(page, kind="First aid", title="Outdoor first aid", valid_from=FROM, valid_to=TO)


def teach(page: Page, start: str) -> None:
    page.goto(f"{start}/staff/themes/new/")
    tick(page, "taxa", "palmaria-palmata")
    fill(page, name="Red weeds", lead="What the low tide leaves.")


def sign_the_account(browser: Browser, start: str, link: str) -> None:
    with browser.new_context() as context:
        page = context.new_page()
        take_up(page, link)
        sign_in(page, "runa")
        page.goto(f"{start}/staff/curriculum/palmaria-palmata/")
        fill(page, competence="Fifteen years on the shore", review_by="2027-06-01")
        expect(page.get_by_role("button", name="Sign this version")).to_have_count(0)


def publish(page: Page, start: str) -> None:
    page.goto(f"{start}/staff/walks/new/")
    place = {"site": "Limpet Ledge", "local_date": "2026-10-03", "local_time": "10:00", "leads": "Gwen Guide"}
    fill(page, theme="Red weeds", **place)
    page.get_by_role("button", name="Publish").click()
    page.get_by_role("button", name="Publish it").click()
    expect(page.get_by_text("The walk is on the public programme.")).to_be_visible()


def test_an_empty_house_comes_to_its_first_walk(
    transactional_db: None, live_server: LiveServer, browser: Browser, page: Page, settings: object
) -> None:
    start = live_server.url
    with time_machine.travel(NOW, tick=True):
        take_up(page, first_link(settings, live_server))
        sign_in(page, "office")
        expect(page.get_by_text("Nothing is published yet.")).to_be_visible()
        set_up_the_house(page, start)
        reviewer = invite(page, start, "runa", "reviewer")
        record_the_ground(page, start)
        record_the_guide(page, start)
        teach(page, start)
        sign_the_account(browser, start, reviewer)
        publish(page, start)
        page.goto(f"{start}/staff/first-steps/")
        expect(page.get_by_text("All is there: walks can be published.")).to_be_visible()
    assert Offering.objects.get().state == Offering.State.PUBLISHED
