"""What is sealed and opens with no key stops what needs it, says so, and takes nothing else with it."""

from __future__ import annotations

from uuid import uuid4

import pytest
import time_machine
from cryptography.fernet import Fernet
from django.db import connection
from pytest_django.fixtures import Settings

from bookings.ground_rules import rules_in_force
from bookings.models import AccessNeed, AttendanceMark, Booking, Declaration, OutboxMessage, SaidBy
from bookings.services.access_needs import ask_for_access
from bookings.services.book_places import book_places
from bookings.services.change_contact import change_contact
from bookings.services.declare import Answers, declare
from bookings.services.erase import erase_party
from bookings.services.send_messages import send_next_message
from bookings.services.take_register import take_register
from foraywright.floor.leases import LEASE, RETRY_AFTER
from tests.bookings.test_change_contact import NEW
from tests.bookings.test_day_register import WREN, address, send, typed
from tests.cast import World
from tests.pages import signed_in, words_of

pytestmark = [pytest.mark.database, pytest.mark.usefixtures("september")]
TOLD = Answers("hazelnuts", "", "", "", "Noor Canary", "01632 960 200", "partner", photos=False)


@pytest.fixture
def booking(world: World) -> Booking:
    """Two adults who have declared, and ask for access."""
    made = book_places(world.order("adult", "adult"), by="participant", now=world.now)
    for person in made.party.people.all():
        said = {"said_by": SaidBy.CONTACT, "rules": rules_in_force(), "by": "participant", "now": world.now}
        declare(person, TOLD, **said)
    ask_for_access(made, "a level path", by="participant", now=world.now)
    return made


def lose_the_key(settings: Settings) -> None:
    settings.SEALING_KEYS = [Fernet.generate_key().decode()]


def cut_off(declared: Declaration) -> None:
    with connection.cursor() as cursor:
        sql = "UPDATE bookings_declaration SET emergency_phone = substr(emergency_phone, 1, 40) WHERE id = %s"
        cursor.execute(sql, [declared.pk])


def test_the_page_says_so_and_whom_to_ask_meanwhile(world: World, booking: Booking, settings: Settings) -> None:
    lose_the_key(settings)
    person = booking.party.people.earliest("pk")
    page = signed_in(world.olive).get(f"/staff/walks/{world.offering.public_id}/1/declarations/{person.public_id}/")
    assert page.status_code == 500
    words = words_of(page.content)
    assert "does not open" in words
    assert "ask the people themselves" in words
    assert not any(one in page.text for one in ("gAAAA", "Canary", "declaration.", "(sealed)"))


@pytest.mark.usefixtures("booking")
def test_one_contact_that_does_not_open_keeps_no_register_off_the_phone(world: World) -> None:
    cut_off(Declaration.objects.earliest("pk"))
    with time_machine.travel(world.walk.starts_at, tick=False):
        people = signed_in(world.gwen.user).post(address(world, "copy/")).json()["sealed"]["people"]
    assert [(one["ring"], one["shut"]) for one in people if one["shut"]] == [(None, True)]
    assert [one["ring"]["name"] for one in people if not one["shut"]] == ["Noor Canary"]


def test_what_was_typed_on_a_phone_waits_there_and_keeps_no_tick_back(
    world: World, booking: Booking, settings: Settings
) -> None:
    now, person = world.walk.starts_at, booking.party.people.earliest("pk")
    copy = take_register(world.walk, by=world.gwen.user, now=now).copy
    party = typed(copy, "walk_up", **WREN)
    tick = {"uuid": str(uuid4()), "kind": "mark", "person": person.public_id, "state": "present", "at": now.isoformat()}
    lose_the_key(settings)
    with time_machine.travel(now, tick=False):
        answer = send(signed_in(world.gwen.user), address(world, f"copy/{copy.public_id}/"), tick, party)
    assert answer["taken"] == [tick["uuid"]]
    assert "cannot be opened" in answer["refused"][party["uuid"]]  # type: ignore[index]
    assert AttendanceMark.objects.count() == 1


def test_a_letter_whose_address_does_not_open_is_given_up_to_a_person(
    world: World, booking: Booking, settings: Settings
) -> None:
    change_contact(booking, NEW, by=world.olive, now=world.now)
    lose_the_key(settings)
    now = world.now
    for _ in range(len(RETRY_AFTER) + 1):
        now += max(LEASE, *RETRY_AFTER)
        while send_next_message(now=now):
            pass
    message = OutboxMessage.objects.get(kind="former_contact")
    assert message.given_up_at == now
    assert "NotOpened" in message.last_error


def test_erasing_asks_for_no_key(world: World, booking: Booking, settings: Settings) -> None:
    lose_the_key(settings)
    erase_party(booking, reason="asked", by=world.olive, now=world.walk.ends_at)
    assert not Declaration.objects.exists()
    assert not AccessNeed.objects.exists()
