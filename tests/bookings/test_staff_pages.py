"""The office's pages: what needs a person, the walks, one booking, cancelling and calling off."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta

import pytest
import time_machine
from bs4 import BeautifulSoup
from django.test import Client

from bookings.models import Booking, OutboxMessage, Transfer
from bookings.services.book_places import book_places
from bookings.services.cancel_booking import cancel_booking
from bookings.services.record_payment import record_payment
from foraywright.floor.compute.short_codes import spoken
from tests.cast import WALK_DAY, World, make_user
from tests.conftest import NOW
from tests.pages import signed_in, words_of
from walks.models import Offering
from walks.services.schedule_walk import schedule_walk

pytestmark = pytest.mark.usefixtures("september")


@pytest.fixture
def booking(world: World) -> Booking:
    return book_places(world.order("adult", "4-8", names=("Pat Partridge", "Mia")), by="participant", now=world.now)


@contextmanager
def at(moment: datetime, client: Client, world: World) -> Iterator[None]:
    """Travel there, and sign the office in there: a session lasts twelve hours."""
    with time_machine.travel(moment, tick=False):
        client.force_login(world.olive)
        yield


def address(world: World, *more: str) -> str:
    return "/".join(["/staff/walks", world.offering.public_id, *more, ""])


def test_today_names_what_waits_for_a_person(world: World, olive: Client, booking: Booking) -> None:
    session = world.session(local_date=WALK_DAY + timedelta(weeks=1))
    schedule_walk(world.plan(session, title="Not yet"), by=world.olive, now=world.now)
    OutboxMessage.objects.update(given_up_at=world.now)
    with at(world.walk.starts_at - timedelta(days=6), olive, world):
        text = words_of(olive.get("/staff/").content)
    assert "“Not yet” is still a draft." in text
    assert "A letter (confirmation) could not be sent." in text
    assert "“The bare wood” on 3 October 2026 has 2 people; it needs 4." in text


def test_the_list_shows_what_is_to_come_or_what_is_over(world: World, olive: Client) -> None:
    assert "The bare wood" in words_of(olive.get("/staff/walks/").content)
    assert "The bare wood" not in words_of(olive.get("/staff/walks/?past=1").content)
    with at(world.walk.ends_at, olive, world):
        assert "The bare wood" not in words_of(olive.get("/staff/walks/").content)
        assert "The bare wood" in words_of(olive.get("/staff/walks/?past=1&page=99").content)


def test_a_walk_shows_its_limits_and_who_comes(world: World, olive: Client, booking: Booking) -> None:
    text = words_of(olive.get(address(world)).content)
    assert "The landowner's permission allows 14 people, staff included; 4 are coming; 10 places remain." in text
    assert f"{spoken(booking.code)} Pat Partridge" in text
    assert "£27.00" in text


def test_a_guide_of_another_walk_does_not_read_who_comes(world: World, booking: Booking) -> None:
    world.offering.walks.get().walk_guides.filter(guide=world.harry).delete()
    mine, other = (words_of(signed_in(one.user).get(address(world)).content) for one in (world.gwen, world.harry))
    assert "Pat Partridge" in mine
    assert "01632 960 001" in mine
    assert "10 places remain." in other
    assert "Pat Partridge" not in other
    assert "01632 960 001" not in other
    assert "Who comes is shown to the office and to the guides of this walk." in other


def test_one_booking_shows_people_money_letters_and_history(world: World, olive: Client, booking: Booking) -> None:
    record_payment(booking, into="cash", amount_minor=1000, by=world.olive, now=world.now)
    text = words_of(olive.get(f"/staff/bookings/{booking.code}/").content)
    for words in ("Mia · 4-8 · looked after by Pat Partridge", "£17.00", "paid £10.00", "Confirmation · waiting"):
        assert words in text
    assert "Places sold Walks sold and not yet held Owed by those who booked £27.00" in text
    assert "Payment received Owed by those who booked Cash and card at the meeting point £10.00" in text
    assert "book places" in text


def cancel(client: Client, booking: Booking) -> dict[str, str]:
    """What the page for cancelling sends back."""
    page = BeautifulSoup(client.get(f"/staff/bookings/{booking.code}/cancel/").content, "html.parser")
    fields = page.select("main form input[name]")
    return {one["name"]: one["value"] for one in fields if one["name"] != "csrfmiddlewaretoken"}


def test_cancelling_shows_the_terms_first(world: World, olive: Client, booking: Booking) -> None:
    record_payment(booking, into="bank", amount_minor=2700, by=world.olive, now=world.now)
    page = f"/staff/bookings/{booking.code}/cancel/"
    with at(NOW.replace(day=22), olive, world):
        text = words_of(olive.get(page).content)
        assert "Of £27.00, 50 % comes back under the terms of the sale. Paid so far: £27.00." in text
        assert "To be paid back: £13.50" in text
        assert Booking.objects.get().state == Booking.State.CONFIRMED
        answer = olive.post(page, cancel(olive, booking), follow=True)
    assert answer.redirect_chain == [(f"/staff/bookings/{booking.code}/", 302)]
    assert "The booking is cancelled. A letter is on its way." in words_of(answer.content)
    assert Booking.objects.get().state == Booking.State.CANCELLED


def test_terms_that_changed_since_the_page_was_made_cancel_nothing(
    world: World, olive: Client, booking: Booking
) -> None:
    seen = cancel(olive, booking)
    with at(NOW.replace(day=22), olive, world):
        answer = olive.post(f"/staff/bookings/{booking.code}/cancel/", seen)
    assert answer.status_code == 409
    assert "Look again. What it would do has changed since you were asked. Nothing was done." in words_of(
        answer.content
    )
    assert Booking.objects.get().state == Booking.State.CONFIRMED


def test_a_second_press_cancels_nothing_and_says_so(world: World, olive: Client, booking: Booking) -> None:
    sent = cancel(olive, booking)
    cancel_booking(booking, by="participant", now=world.now)
    before = Transfer.objects.count()
    answer = olive.post(f"/staff/bookings/{booking.code}/cancel/", sent, follow=True)
    assert "This booking is cancelled already. Nothing changed." in words_of(answer.content)
    assert Transfer.objects.count() == before


def call_off(client: Client, page: str, why: str, **more: object) -> object:
    """Calls off as somebody does who has just looked at the page."""
    seen = BeautifulSoup(client.get(page).content, "html.parser").select_one("input[name=seen]")["value"]
    return client.post(page, {"why": why, "seen": seen}, **more)


def test_calling_off_under_other_numbers_than_seen_asks_again(world: World, olive: Client) -> None:
    page = address(world, "call-off")
    seen = BeautifulSoup(olive.get(page).content, "html.parser").select_one("input[name=seen]")["value"]
    book_places(world.order(), by="participant", now=world.now)
    answer = olive.post(page, {"why": "Gusts.", "seen": seen})
    assert answer.status_code == 409
    assert "Look again. What it would do has changed since you were asked." in words_of(answer.content)
    assert "Gusts." in answer.content.decode()
    assert Offering.objects.get().state == "published"
    assert call_off(olive, page, "Gusts.").status_code == 302
    assert Offering.objects.get().state == "called_off"


def test_calling_off_asks_why_and_tells_everybody(world: World, olive: Client, booking: Booking) -> None:
    record_payment(booking, into="bank", amount_minor=2700, by=world.olive, now=world.now)
    page = address(world, "call-off")
    text = words_of(olive.get(page).content)
    assert "1 party will be told by letter, and £27.00 that they paid is to be paid back." in text
    refused = call_off(olive, page, "  ")
    assert refused.status_code == 422
    assert Offering.objects.get().state == "published"
    answer = call_off(olive, page, "Gusts of 45 mph.", follow=True)
    assert "The walk is called off. Letters to everybody who booked are on their way." in words_of(answer.content)
    assert Offering.objects.get().called_off_why == "Gusts of 45 mph."
    again = olive.post(page, {"why": "Again."}, follow=True)
    assert "This walk is called off already. Nothing was changed." in words_of(again.content)
    assert Offering.objects.get().called_off_why == "Gusts of 45 mph."


def test_a_reason_that_is_too_long_is_refused_and_kept(world: World, olive: Client) -> None:
    answer = call_off(olive, address(world, "call-off"), "x" * 301)
    assert answer.status_code == 422
    assert "x" * 301 in answer.content.decode()


def test_a_guide_calls_off_an_own_walk_only(world: World) -> None:
    world.offering.walks.get().walk_guides.filter(guide=world.harry).delete()
    page = address(world, "call-off")
    assert signed_in(world.harry.user).get(page).status_code == 403
    assert signed_in(world.harry.user).post(page, {"why": "No."}).status_code == 403
    assert Offering.objects.get().state == "published"
    assert call_off(signed_in(world.gwen.user), page, "Storm.").status_code == 302
    assert Offering.objects.get().state == "called_off"


def test_who_may_and_which_methods(world: World, olive: Client, booking: Booking) -> None:
    one, end = f"/staff/bookings/{booking.code}/", f"/staff/bookings/{booking.code}/cancel/"
    for page in (one, end):
        for user in (world.gwen.user, world.rosa, make_user(f"nobody-{len(page)}")):
            assert signed_in(user).get(page).status_code == 403
        assert Client().get(page).status_code == 302
    assert signed_in(world.gwen.user).post(end).status_code == 403
    assert [olive.post(page).status_code for page in ("/staff/", "/staff/walks/", address(world), one)] == [405] * 4
    assert olive.delete(end).status_code == olive.delete(address(world, "call-off")).status_code == 405
    assert olive.get("/staff/bookings/NOBODY/").status_code == 404
    assert olive.get("/staff/walks/nothing/").status_code == 404
    assert Booking.objects.get().state == Booking.State.CONFIRMED
