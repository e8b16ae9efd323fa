"""Three browsers on a walk for thirty, eight hours without network, pages closed and caches thrown out: nothing lost.

The clocks of the devices are off and moved on; what was sent is cut off on the way back. The fast form is short of all.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import dataclass
from datetime import datetime, timedelta

import pytest
import time_machine
from django.test import Client
from playwright.sync_api import Browser, BrowserContext, Error, Page, Route, expect
from pytest_django.live_server_helper import LiveServer

from bookings.attendance import attendees
from bookings.models import AttendanceMark, RegisterCopy
from foraywright.floor.models import User
from tests.bookings.test_offline_devices import HOURS, SKEWS, a_walk_for_thirty, same_in_any_order
from tests.cast import World
from walks.models import Walk

pytestmark = pytest.mark.browser
CODE = "beech mast 7"
KEPT = """async () => {
  const answer = (asked) => new Promise((done) => { asked.onsuccess = () => done(asked.result); });
  const open = await answer(indexedDB.open("register"));
  const all = (name) => answer(open.transaction(name).objectStore(name).getAll());
  const ticks = (await all("ticks")).map((one) => one.uuid);
  return { copies: (await all("copies")).length, own: (await all("own")).length, ticks };
}"""


@dataclass
class Phone:
    """One guide's phone, what it ticked so far, and the page that is open on it."""

    context: BrowserContext
    site: str
    off: timedelta
    page: Page | None = None
    ticked: int = 0

    def at(self, now: datetime) -> None:
        self.context.clock.set_system_time(now + self.off)

    def register(self) -> Page:
        """The register, open; if the page was thrown out, there is signal for the page alone."""
        if self.page is None:
            self.page = self.context.new_page()
            try:
                self.page.goto(f"{self.site}/register/")
            except Error:
                self.context.set_offline(False)
                self.page.goto(f"{self.site}/register/")
                self.context.set_offline(True)
            self.page.get_by_label("Your code").fill(CODE)
            self.page.get_by_role("button", name="Open it").click()
            expect(self.page.locator("ul.register li")).to_have_count(30, timeout=20_000)
        return self.page

    def tick(self, chance: random.Random) -> None:
        page = self.register()
        buttons = page.locator("ul.register button")
        buttons.nth(chance.randrange(buttons.count())).click()
        self.ticked += 1
        expect(page.locator("#send")).to_have_text(f"Send {self.ticked} {'entry' if self.ticked == 1 else 'entries'}")

    def close(self, chance: random.Random) -> None:
        """Close the page, and sometimes let the browser throw the kept page and its worker out, as it may for room."""
        page = self.register()
        if chance.random() < 0.2:
            page.evaluate("caches.keys().then((names) => Promise.all(names.map((one) => caches.delete(one))))")
        page.close()
        self.page = None


@pytest.fixture
def walk(real_world: World) -> Walk:
    return a_walk_for_thirty(real_world)


@pytest.fixture
def phones(browser: Browser, live_server: LiveServer, walk: Walk) -> Iterator[list[Phone]]:
    """Three phones that took the register along half an hour before the walk, each with its own clock."""
    morning = walk.starts_at - timedelta(minutes=30)
    guides = [one.guide.user for one in walk.walk_guides.select_related("guide__user")]
    with time_machine.travel(morning, tick=True), ExitStack() as stack:
        contexts = [stack.enter_context(browser.new_context(viewport={"width": 360, "height": 740})) for _ in guides]
        found = [Phone(context, live_server.url, off) for context, off in zip(contexts, SKEWS, strict=True)]
        for phone, guide in zip(found, guides, strict=True):
            take_along(phone, guide, walk, morning)
        yield found


def take_along(phone: Phone, guide: User, walk: Walk, morning: datetime) -> None:
    client = Client()
    client.force_login(guide)
    cookie = client.cookies["sessionid"]
    phone.context.add_cookies([{"name": cookie.key, "value": cookie.value, "url": phone.site}])
    phone.context.set_default_timeout(30_000)
    phone.context.clock.install(time=morning + phone.off)
    page = phone.context.new_page()
    page.goto(f"{phone.site}/staff/walks/{walk.offering.public_id}/1/day/register/")
    page.get_by_label("What you call this device").fill(f"{guide}’s phone")
    page.get_by_label("Code, eight signs or more").fill(CODE)
    page.get_by_role("button", name="Take it along").click()
    expect(page.get_by_text("Ready for the wood: 30 people")).to_be_visible(timeout=30_000)
    page.close()
    phone.context.set_offline(True)
    phone.context.route("**/copy/**", lambda route: route.abort())


def in_the_wood(phones: list[Phone], walk: Walk, chance: random.Random, steps: int) -> None:
    for step in range(steps):
        phone = phones[step] if step < len(phones) else chance.choice(phones)  # none has nothing to send
        phone.at(walk.starts_at + HOURS * step / steps)
        for _ in range(chance.randint(1, 2)):
            phone.tick(chance)
        phone.close(chance)
    assert not AttendanceMark.objects.exists()


def back_home(phones: list[Phone], chance: random.Random) -> None:
    """Network again, in any order; of the first sendings the answer is lost, and the page is closed on it."""
    for phone in chance.sample(phones, len(phones)):
        phone.register()
        phone.context.unroute("**/copy/**")
        phone.context.route("**/copy/**", _taken_but_not_answered)
        phone.context.set_offline(False)
        expect(phone.register().get_by_text("No signal. They wait here.")).to_be_visible(timeout=30_000)
        phone.context.unroute("**/copy/**")
        phone.register().close()
        phone.page = None
    for phone in chance.sample(phones, len(phones)):
        expect(phone.register().locator("#send")).to_have_text("Send 0 entries", timeout=30_000)


def _taken_but_not_answered(route: Route) -> None:
    if route.request.method == "POST":
        route.fetch()
        route.abort()
    else:
        route.continue_()


def one_day(phones: list[Phone], walk: Walk, *, seed: int, steps: int) -> None:
    chance = random.Random(seed)
    in_the_wood(phones, walk, chance, steps)
    with time_machine.travel(walk.starts_at + HOURS, tick=True):
        back_home(phones, chance)
    made = [event for phone in phones for event in phone.register().evaluate(KEPT)["ticks"]]
    assert len(made) == sum(phone.ticked for phone in phones)
    assert Counter(str(one.event) for one in AttendanceMark.objects.all()) == Counter(made)
    assert {one.copy for one in AttendanceMark.objects.all()} <= set(RegisterCopy.objects.all())
    same_in_any_order(walk, chance, 20)
    assert len(attendees(walk)) == 30
    a_day_later(phones, walk)


def a_day_later(phones: list[Phone], walk: Walk) -> None:
    """A day after the walk nothing of anybody is left, by whichever clock."""
    for phone in phones:
        phone.register().close()
        phone.context.clock.set_system_time(walk.ends_at + timedelta(hours=24, seconds=1))
        page = phone.context.new_page()
        page.goto(f"{phone.site}/register/")
        expect(page.get_by_text("This device carries no register.")).to_be_visible()
        assert page.evaluate(KEPT) == {"copies": 0, "own": 0, "ticks": []}


def test_a_short_day(phones: list[Phone], walk: Walk) -> None:
    one_day(phones, walk, seed=1, steps=4)


@pytest.mark.slow
def test_two_hundred_closes_and_evictions(phones: list[Phone], walk: Walk) -> None:
    one_day(phones, walk, seed=15, steps=200)
