"""The pages of the waiting list, of holds, changes and moves: what is shown, what a form does, how often."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
import time_machine
from bs4 import BeautifulSoup
from django.test import Client

from bookings.models import AttemptCount, Booking
from bookings.services.book_places import book_places
from bookings.services.booking_link import booking_link
from bookings.services.call_off_walk import call_off_walk
from bookings.services.cancel_booking import cancel_booking
from bookings.services.hold_places import hold_places
from bookings.services.join_waiting_list import join_waiting_list
from bookings.services.lapse_holds import lapse_next_hold
from bookings.services.offer_places import offer_next_places
from bookings.services.record_payment import record_payment
from foraywright.floor.ids import new_secret
from tests.cast import WALK_DAY, World
from tests.conftest import NOW
from tests.pages import say_yes
from walks.models import Offering
from walks.queries import slug_of
from walks.services.publish_walk import publish_walk
from walks.services.schedule_walk import schedule_walk

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("september")]


def text(answer: object) -> str:
    return " ".join(BeautifulSoup(answer.content, "html.parser").get_text(" ").split())


def page_of(booking: Booking) -> str:
    return f"/booking/{booking_link(booking, now=NOW)}/"


def form(**changes: str) -> dict[str, str]:
    filled = {"name": "Wim Wait", "email": "wim@example.org", "adults": "2", "rules": "on", "key": new_secret()}
    return filled | changes


@pytest.fixture
def full(world: World) -> Booking:
    book_places(world.order(*["adult"] * 10), by="participant", now=NOW)
    return book_places(world.order(), by="participant", now=NOW)


def test_a_full_walk_leads_to_its_waiting_list(world: World, full: Booking, client: Client) -> None:
    slug = slug_of(world.offering.public_id)
    assert f'href="/walks/{slug}/wait/"' in client.get(f"/walks/{slug}/").content.decode()
    sent = form()
    answer = client.post(f"/walks/{slug}/wait/", sent, follow=True)
    assert "is on the waiting list" in text(answer)
    assert "Number 1 on the list" in text(answer)
    assert client.post(f"/walks/{slug}/wait/", sent, follow=True).status_code == 200
    assert Booking.objects.filter(state="waiting").count() == 1


def test_where_there_is_room_the_list_sends_back_to_booking(world: World, client: Client) -> None:
    answer = client.post(f"/walks/{slug_of(world.offering.public_id)}/wait/", form())
    assert answer.status_code == 409
    assert "There is room for your party: book it now." in text(answer)
    assert 'value="Wim Wait"' in answer.content.decode()


def test_free_places_that_others_wait_for_show_as_full(world: World, full: Booking, client: Client) -> None:
    join_waiting_list(world.order(), by="participant", now=NOW)
    cancel_booking(full, by="participant", now=NOW)
    slug = slug_of(world.offering.public_id)
    assert "Free places go to those on the waiting list first." in text(client.get(f"/walks/{slug}/"))
    answer = client.post(f"/walks/{slug}/book/", form())
    assert answer.status_code == 409
    assert "the free places go to those on the waiting list first" in text(answer)


def test_an_offer_is_taken_by_its_link(world: World, full: Booking, client: Client) -> None:
    waits = join_waiting_list(world.order(), by="participant", now=NOW)
    cancel_booking(full, by="participant", now=NOW)
    offer_next_places(now=NOW)
    page = page_of(waits)
    shown = client.get(page)
    assert "Held until Tuesday 15 September 2026, 10 am." in text(shown)
    assert "Hold them for 20 minutes" not in text(shown)
    assert "The places are yours" in text(client.post(f"{page}confirm/", follow=True))
    assert Booking.objects.get(pk=waits.pk).state == Booking.State.CONFIRMED


def test_a_hold_is_made_longer_by_a_button_and_ends_politely(world: World, client: Client) -> None:
    held = hold_places(world.order(), by="participant", now=NOW - timedelta(minutes=15))
    page = page_of(held)
    key = BeautifulSoup(client.get(page).content, "html.parser").select_one("form[action$='longer/'] input[name=key]")
    for _ in range(2):
        client.post(f"{page}longer/", {"key": key["value"]})
    held.refresh_from_db()
    assert (held.extensions, held.held_until) == (1, NOW + timedelta(minutes=20))
    Booking.objects.update(held_until=NOW)
    assert "the time to book these places ran out" in text(client.get(page))
    lapse_next_hold(now=NOW)
    answer = client.post(f"{page}confirm/", follow=True)
    assert "not held for you any more" in text(answer)
    assert "Nothing is owed" in text(answer)


def two_steps(client: Client, address: str, answers: dict[str, str]) -> str:
    """Fill a form in, read the amounts, send it again under them; what the amounts were."""
    first = client.post(address, {**answers, "key": new_secret()})
    assert first.status_code == 200, text(first)
    soup = BeautifulSoup(first.content, "html.parser")
    key, terms = soup.select_one("input[name=key]"), soup.select_one("button[name=terms]")
    sent = {**answers, "key": key["value"], "terms": terms["value"]}
    assert client.post(address, sent).status_code == 302
    assert client.post(address, sent).status_code == 302
    return " ".join(soup.select_one("table.bill").get_text(" ").split())


def test_who_comes_is_changed_after_the_amounts_were_seen(world: World, client: Client) -> None:
    booking = book_places(world.order(), by="participant", now=NOW)
    record_payment(booking, into="bank", amount_minor=3600, by=world.olive, now=NOW)
    gone = booking.party.people.latest("pk").public_id
    bill = two_steps(client, f"{page_of(booking)}change/", {f"gone_{gone}": "on", "guardian": "on"})
    assert "Due before £36.00 Due afterwards £18.00 Paid £36.00 Comes back £18.00" in bill
    assert booking.party.people.count() == 1


def test_a_change_of_nothing_is_said_back(world: World, client: Client) -> None:
    booking = book_places(world.order(), by="participant", now=NOW)
    answer = client.post(f"{page_of(booking)}change/", {"key": new_secret(), "guardian": "on"})
    assert answer.status_code == 422
    assert "Nothing is changed yet" in text(answer)


@pytest.mark.parametrize("step", ["change/", "move/"])
def test_what_cannot_be_done_is_said_before_anybody_weighs_what_it_costs(
    world: World, client: Client, step: str
) -> None:
    booking, other = book_places(world.order(), by="participant", now=NOW), another(world)
    book_places(replace(world.order(*["adult"] * 11), offering=other), by="participant", now=NOW)
    answers = {"change/": {"adults": "12"}, "move/": {"to": other.public_id}}[step]
    answer = client.post(f"{page_of(booking)}{step}", {**answers, "key": new_secret()})
    assert answer.status_code == 409
    assert "Your booking stays as it was." in text(answer)
    assert "What this means for the money" not in text(answer)


def another(world: World) -> Offering:
    session = world.session(local_date=WALK_DAY + timedelta(days=7))
    return publish_walk(
        schedule_walk(world.plan(session, title="Another"), by=world.olive, now=NOW), by=world.olive, now=NOW
    )


def test_the_office_moves_a_booking(world: World, client: Client) -> None:
    other, booking = another(world), book_places(world.order(), by="participant", now=NOW)
    client.force_login(world.olive)
    bill = two_steps(client, f"/staff/bookings/{booking.code}/move/", {"to": other.public_id})
    assert "To be paid £36.00" in bill
    booking.refresh_from_db()
    assert booking.offering == other


def test_a_walk_called_off_lets_choose(world: World, client: Client) -> None:
    booking = book_places(world.order(), by="participant", now=NOW)
    record_payment(booking, into="bank", amount_minor=3600, by=world.olive, now=NOW)
    call_off_walk(world.offering, why="Storm.", by=world.olive, now=NOW)
    page = page_of(booking)
    assert "Choose until Monday 28 September 2026" in text(client.get(page))
    assert "goes back the way that it was paid" in text(say_yes(client, f"{page}money-back/", follow=True))
    assert "Choose until" not in text(client.get(page))


def test_the_office_sees_who_waits_in_order(world: World, full: Booking, client: Client) -> None:
    for name in ("First Waiter", "Second Waiter"):
        join_waiting_list(world.order("adult", name=name), by="participant", now=NOW)
    client.force_login(world.olive)
    shown = text(client.get(f"/staff/walks/{world.offering.public_id}/"))
    assert shown.index("First Waiter") < shown.index("Second Waiter")


def test_the_seventh_form_of_a_contact_in_an_hour_waits(world: World, client: Client) -> None:
    address = f"/walks/{slug_of(world.offering.public_id)}/book/"
    for _ in range(6):
        assert client.post(address, form(adults="1")).status_code == 302
    answer = client.post(address, form(adults="1", email="WIM@example.org"))
    assert (answer.status_code, answer["Retry-After"]) == (429, "3600")
    assert "Try again in 60 minutes, or ring us." in text(answer)
    assert 'value="Wim Wait"' in answer.content.decode()
    assert Booking.objects.count() == 6
    assert not AttemptCount.objects.filter(who__contains="wim").exists()
    with time_machine.travel(NOW + timedelta(hours=1), tick=False):
        assert client.post(address, form(adults="1")).status_code == 302


def test_a_form_that_is_sent_again_does_not_count(world: World, client: Client) -> None:
    sent, address = form(adults="1"), f"/walks/{slug_of(world.offering.public_id)}/book/"
    assert {client.post(address, sent).status_code for _ in range(9)} == {302}
    assert Booking.objects.count() == 1


def test_codes_cannot_be_guessed_for_long(world: World, client: Client) -> None:
    booking = book_places(world.order(), by="participant", now=NOW)
    asked = {"email": "pat@example.org", "code": booking.code}
    assert {client.post("/booking/", asked).status_code for _ in range(20)} == {302}
    answer = client.post("/booking/", asked)
    assert (answer.status_code, answer["Retry-After"]) == (429, "3600")
