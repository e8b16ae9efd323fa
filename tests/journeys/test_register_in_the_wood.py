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
from bookings.models import AttendanceMark, Booking, Look, RegisterCopy, WalkUp
from bookings.queries import balance
from bookings.services.book_places import book_places
from bookings.services.declare import Answers, declare
from bookings.walk_ups import to_look_at
from tests.cast import World
from tests.journeys.test_readable_everywhere import faults_of
from walks.models import Find

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


def ask_for_it(page: Page, live_server: LiveServer, booking: Booking) -> None:
    page.goto(f"{live_server.url}/staff/walks/{booking.offering.public_id}/1/day/register/")
    page.get_by_label("Code, eight signs or more").fill(CODE)
    page.get_by_role("button", name="Take it along").click()


def take_along(phone: BrowserContext, live_server: LiveServer, booking: Booking, people: int = 2) -> Page:
    page = phone.new_page()
    ask_for_it(page, live_server, booking)
    expect(page.get_by_text(f"Ready for the wood: {people} people kept and read back")).to_be_visible()
    return page


def try_to_open(phone: BrowserContext, live_server: LiveServer) -> Page:
    page = phone.new_page()
    page.goto(f"{live_server.url}/register/")
    page.get_by_label("Your code").fill(CODE)
    page.get_by_role("button", name="Open it").click()
    return page


def open_in_the_wood(phone: BrowserContext, live_server: LiveServer) -> Page:
    page = try_to_open(phone, live_server)
    expect(page.get_by_text("Pat Partridge", exact=True)).to_be_visible()
    return page


def test_ticks_without_signal_are_neither_lost_nor_doubled(
    phone: BrowserContext, live_server: LiveServer, morning: Booking
) -> None:
    take_along(phone, live_server, morning).close()
    assert Look.objects.filter(what="emergency").count() == 1
    phone.set_offline(True)
    page = open_in_the_wood(phone, live_server)
    page.get_by_role("button", name="Here: Pat Partridge", exact=True).click()
    expect(page.get_by_role("button", name="Send 1 entry")).to_be_visible()
    page.close()

    page = open_in_the_wood(phone, live_server)
    expect(page.get_by_role("link", name="Ring Robin Partridge")).to_have_attribute("href", "tel:01632 960 003")
    page.get_by_role("button", name="Not here: Quill Quince").click()
    expect(page.get_by_role("button", name="Send 2 entries")).to_be_visible()
    assert not AttendanceMark.objects.exists()

    phone.set_offline(False)
    expect(page.get_by_text("All is sent.")).to_be_visible()
    page.evaluate("registerStore.send()")
    assert [one.standing for one in attendees(morning.offering.walks.get())] == ["present", "absent"]
    assert AttendanceMark.objects.count() == 2


FILL = """async () => {
  const opening = indexedDB.open("photographs");
  opening.onupgradeneeded = () => opening.result.createObjectStore("all", { autoIncrement: true });
  await new Promise((resolve) => { opening.onsuccess = resolve; });
  const add = (size) => new Promise((resolve) => {
    const work = opening.result.transaction("all", "readwrite");
    const bytes = crypto.getRandomValues(new Uint8Array(Math.min(size, 65536)));
    work.objectStore("all").add(Array(Math.ceil(size / 65536)).fill(0).map(() => bytes.slice()));
    work.oncomplete = () => resolve(true);
    work.onabort = () => resolve(false);
  });
  for (let size = 1 << 22; size >= 1; size >>= 1) while (await add(size)) {}
}"""


def test_a_phone_without_room_says_that_it_kept_nothing(
    phone: BrowserContext, live_server: LiveServer, morning: Booking
) -> None:
    photographs = phone.new_page()
    photographs.goto(f"{live_server.url}/robots.txt")
    small = {"origin": live_server.url, "quotaSize": 30_000_000}
    phone.new_cdp_session(photographs).send("Storage.overrideQuotaForOrigin", small)
    take_along(phone, live_server, morning).close()
    phone.set_offline(True)
    page = open_in_the_wood(phone, live_server)
    photographs.evaluate(FILL)
    page.get_by_role("button", name="Here: Pat Partridge", exact=True).click()
    expect(page.get_by_role("alert").get_by_text("Not kept: this device has no room")).to_be_visible()
    page.get_by_text("Enter a find").click()
    page.get_by_label("Or, not identified: what was seen").fill("small brown one")
    page.get_by_role("button", name="Keep the find").click()
    expect(page.get_by_role("alert").get_by_text("Not kept: this device has no room")).to_have_count(2)
    expect(page.get_by_label("Or, not identified: what was seen")).to_have_value("small brown one")
    expect(page.get_by_role("button", name="Send 0 entries")).to_be_visible()
    page = try_to_open(phone, live_server)
    expect(page.get_by_role("alert").get_by_text("This device has no room")).to_be_visible()


def fill_in_a_party(page: Page, names: str) -> None:
    """The wood's form for a party of adults who pay in cash and tell the guide something."""
    page.get_by_text("Somebody came without a booking").click()
    page.get_by_label("Adults", exact=False).first.fill(str(len(names.splitlines())))
    page.get_by_label("Who is coming").fill(names)
    page.get_by_label("Who speaks for them").fill(names.splitlines()[0])
    page.get_by_label("Phone", exact=True).fill("01632 960 004")
    page.get_by_label("They told the guide").check()
    page.get_by_label("In cash, taken in full").check()
    page.get_by_label("I read the ground rules to them").check()


def test_a_walk_up_without_signal_is_a_booking_once_there_is_one(
    phone: BrowserContext, live_server: LiveServer, morning: Booking
) -> None:
    take_along(phone, live_server, morning).close()
    phone.set_offline(True)
    page = open_in_the_wood(phone, live_server)
    fill_in_a_party(page, "Wilma Wren\nWim Wren")
    expect(page.get_by_text("To pay: £36.00")).to_be_visible()
    page.get_by_role("button", name="Add them").click()
    page.get_by_role("button", name="Left: Wim Wren").click()
    page.get_by_text("Enter a find").click()
    page.get_by_label("Or, not identified: what was seen").fill("a small brown one")
    page.get_by_role("button", name="Keep the find").click()
    expect(page.get_by_text("Finds entered here: 1.")).to_be_visible()
    expect(page.get_by_role("button", name="Send 3 entries")).to_be_visible()
    kept = page.evaluate(
        "indexedDB.databases().then(() => new Promise((done) => { const open = indexedDB.open('register');"
        "open.onsuccess = () => { const all = open.result.transaction(['ticks', 'own']); const found = [];"
        "for (const name of ['ticks', 'own']) all.objectStore(name).getAll().onsuccess = (event) => found.push("
        "JSON.stringify(event.target.result) + (event.target.result[0].body"
        " ? new TextDecoder().decode(event.target.result[0].body) : ''));"
        "all.oncomplete = () => done(found.join()); }; }))"
    )
    assert "Wren" not in kept
    assert "960 004" not in kept
    assert "brown" not in kept
    page.close()

    page = open_in_the_wood(phone, live_server)
    expect(page.get_by_text("Wim Wren · Left")).to_be_visible()
    assert not WalkUp.objects.exists()
    phone.set_offline(False)
    expect(page.get_by_text("All is sent.")).to_be_visible()
    page.evaluate("registerStore.send()")
    walk_up = WalkUp.objects.get()
    assert (walk_up.against, walk_up.heard, balance(walk_up.booking)) == ([], "told", 0)
    standings = {one.name: one.standing for one in attendees(walk_up.walk)}
    assert (standings["Wilma Wren"], standings["Wim Wren"]) == ("present", "left_early")
    assert Find.objects.get().words == "a small brown one"
    assert {one.copy.device for one in AttendanceMark.objects.all()} == {RegisterCopy.objects.get().device}


def test_a_party_written_down_outlives_the_copy_and_nobody_can_read_it_there(
    phone: BrowserContext, live_server: LiveServer, morning: Booking
) -> None:
    take_along(phone, live_server, morning).close()
    phone.set_offline(True)
    page = open_in_the_wood(phone, live_server)
    fill_in_a_party(page, "Wilma Wren")
    page.get_by_role("button", name="Add them").click()
    expect(page.get_by_text("Asked where you met")).to_be_visible()
    page.evaluate(
        "async () => { const [{ copy }] = await registerStore.copies();"
        "for (let tries = 0; tries < 10; tries += 1) await registerStore.unseal(copy, 'wrong'); }"
    )
    page.reload()
    expect(page.get_by_text("This device carries no register.")).to_be_visible()
    expect(page.get_by_role("button", name="Send 1 entry")).to_be_visible()
    phone.set_offline(False)
    expect(page.get_by_text("All is sent.")).to_be_visible()
    assert WalkUp.objects.get().booking.party.contact.name == "Wilma Wren"


def test_what_was_refused_for_good_is_taken_off_the_phone_after_one_question(
    phone: BrowserContext, live_server: LiveServer, morning: Booking
) -> None:
    take_along(phone, live_server, morning).close()
    phone.set_offline(True)
    page = open_in_the_wood(phone, live_server)
    fill_in_a_party(page, "Wilma Wren\nWim Wren")
    page.get_by_role("button", name="Add them").click()
    page.get_by_role("button", name="Left: Wim Wren").click()
    expect(page.get_by_role("button", name="Send 2 entries")).to_be_visible()
    expect(page.get_by_role("button", name="Take it off this list")).to_have_count(0)
    RegisterCopy.objects.update(private_key=None)
    phone.set_offline(False)
    line = page.locator("#refused li")
    expect(line).to_contain_text("A party without a booking")
    expect(line).to_contain_text("was not taken: It comes too late to be opened: write it down by hand.")
    line.get_by_role("button", name="Take it off this list").click()
    expect(line).to_contain_text("Lost for good We have not got it")
    expect(line).to_contain_text("the ticks of its people go with it")
    assert faults_of(page, "what was refused") == []
    line.get_by_role("button", name="Leave it here").click()
    expect(page.get_by_role("button", name="Send 2 entries")).to_be_visible()
    line.get_by_role("button", name="Take it off this list").click()
    line.get_by_role("button", name="Take it off for good").click()
    expect(line).to_have_count(0)
    expect(page.get_by_role("button", name="Send 0 entries")).to_be_disabled()
    expect(page.get_by_text("Wilma Wren")).to_have_count(0)
    expect(page.get_by_text("Pat Partridge", exact=True)).to_be_visible()
    page.close()
    again = open_in_the_wood(phone, live_server)
    expect(again.get_by_text("Wilma Wren")).to_have_count(0)
    expect(again.get_by_role("button", name="Send 0 entries")).to_be_disabled()
    assert not WalkUp.objects.exists()


def test_over_a_limit_the_phone_says_so_and_the_office_hears_of_it(
    phone: BrowserContext, live_server: LiveServer, morning: Booking, real_world: World
) -> None:
    book_places(real_world.order(*["adult"] * 9), by="participant", now=real_world.now)
    take_along(phone, live_server, morning, 11).close()
    phone.set_offline(True)
    page = open_in_the_wood(phone, live_server)
    fill_in_a_party(page, "Wilma Wren\nWim Wren")
    page.get_by_role("button", name="Add them").click()
    expect(page.get_by_text("1 of them would fit.")).to_be_visible()
    expect(page.get_by_role("button", name="Send 0 entries")).to_be_visible()
    page.get_by_role("button", name="Not here: Quill Quince").click()
    expect(page.get_by_role("button", name="Send 1 entry")).to_be_visible()
    page.get_by_role("button", name="Add them").click()
    expect(page.get_by_role("button", name="Send 2 entries")).to_be_visible()

    fill_in_a_party(page, "Walt Warbler")
    page.get_by_role("button", name="Add them").click()
    page.get_by_role("button", name="They are here all the same: write it down").click()
    expect(page.get_by_role("button", name="Send 3 entries")).to_be_visible()
    phone.set_offline(False)
    expect(page.get_by_text("All is sent.")).to_be_visible()
    assert [len(one.against) for one in WalkUp.objects.order_by("came_at")] == [0, 1]
    assert len(list(to_look_at())) == 1


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


def test_a_copy_on_a_phone_that_nobody_opened_in_time_cannot_be_opened(
    phone: BrowserContext, live_server: LiveServer, morning: Booking
) -> None:
    take_along(phone, live_server, morning).close()
    copy = RegisterCopy.objects.get()
    (half,) = (one for one in phone.cookies() if one["name"] == f"register-{copy.public_id}")
    lives = half["expires"] - time_machine.escape_hatch.time.time()  # the browser has the real clock for its cookies
    assert lives == pytest.approx((copy.kept_until - copy.taken_at).total_seconds(), abs=60)
    assert half["sameSite"] == "Strict"
    phone.set_offline(True)
    open_in_the_wood(phone, live_server).close()
    phone.clear_cookies(name=half["name"])  # what the browser does at that time, no script of ours being there
    page = try_to_open(phone, live_server)
    expect(page.get_by_text("That copy can no longer be opened and was deleted")).to_be_visible()
    assert page.evaluate("registerStore.copies()") == []


def test_a_browser_that_keeps_no_cookies_takes_nothing_along(
    phone: BrowserContext, live_server: LiveServer, morning: Booking
) -> None:
    page = phone.new_page()
    page.add_init_script("Object.defineProperty(document, 'cookie', { get: () => '', set: () => {} })")
    ask_for_it(page, live_server, morning)
    expect(page.get_by_text("this browser keeps no cookies")).to_be_visible()
    assert page.evaluate("registerStore.copies()") == []


def test_a_revoked_copy_deletes_itself_and_so_does_signing_out(
    phone: BrowserContext, live_server: LiveServer, morning: Booking
) -> None:
    page = take_along(phone, live_server, morning)
    page.reload()
    page.get_by_role("button", name="Revoke, the device is lost").click()
    page.get_by_role("button", name="Call it back").click()
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


def test_the_pages_of_the_day_read_and_fit_and_ask_for_nothing_forbidden(
    phone: BrowserContext, live_server: LiveServer, morning: Booking
) -> None:
    complaints: list[str] = []
    phone.on("console", lambda said: complaints.append(said.text) if said.type == "error" else None)
    take_along(phone, live_server, morning).close()
    page = open_in_the_wood(phone, live_server)
    fill_in_a_party(page, "Wilma Wren")
    page.get_by_text("Enter a find").click()
    faults = faults_of(page, "register in the wood")
    day = f"{live_server.url}/staff/walks/{morning.offering.public_id}/1/day/"
    for name in ("register/", "register/history/", "walk-ups/"):
        page.goto(day + name)
        faults += faults_of(page, name)
    page.goto(day + "register/")
    page.get_by_role("link", name="Write down what they tell").first.click()
    faults += faults_of(page, "what they tell")
    assert faults == complaints == []
