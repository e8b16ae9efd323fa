"""The register on the day: heads and limits with those who came, looks, copies on devices, ticks that come back."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest
import time_machine
from bs4 import BeautifulSoup
from django.test import Client
from hypothesis import given, settings
from hypothesis import strategies as st

from bookings.attendance import attendees
from bookings.compute.attendance import Mark, standing
from bookings.errors import NotTakenAlong
from bookings.ground_rules import rules_in_force
from bookings.models import AttendanceMark, Booking, Look, RegisterCopy, WalkUp
from bookings.register import register_of
from bookings.services.book_places import book_places
from bookings.services.cancel_booking import cancel_booking
from bookings.services.declare import Answers, declare
from bookings.services.mark_attendance import Tick, mark_attendance
from bookings.services.start_walk import hard_stops_of
from bookings.services.take_register import revoke_register, take_register
from foraywright.floor.compute.short_codes import spoken
from foraywright.floor.models import AuditLine
from tests.bookings.test_offline_devices import sealed
from tests.cast import World
from tests.pages import signed_in, words_of
from walks.models import Find, Walk
from walks.queries import with_everything
from walks.services.sessions import session_of


@pytest.fixture
def family(world: World) -> Booking:
    """Mo with a child of 4 to 8 in their charge; Mo declared."""
    booking = book_places(world.order("adult", "4-8"), by="participant", now=world.now)
    answers = Answers("nuts", "", "", "", "Robin Partridge", "01632 960 003", "sibling", photos=False)
    adult = booking.party.people.earliest("pk")
    declare(adult, answers, said_by="self", rules=rules_in_force(), by="participant", now=world.now)
    return booking


@pytest.fixture
def gwen(world: World) -> Client:
    client = Client()
    client.force_login(world.gwen.user)
    return client


def address(world: World, tail: str = "") -> str:
    return f"/staff/walks/{world.offering.public_id}/1/day/register/{tail}"


def mark(world: World, person: object, state: str, by: object = None, *, at: datetime | None = None) -> None:
    now = at or world.walk.starts_at
    tick = Tick(uuid4(), person.public_id, state, now)  # type: ignore[attr-defined]
    mark_attendance(world.walk, [tick], by=by or world.olive, now=now)


def test_the_limits_count_those_who_came(world: World, family: Booking) -> None:
    adult, child = family.party.people.order_by("pk")
    mark(world, child, "present")
    register = register_of(world.walk)
    assert register.counts == {"here": 1, "awaited": 1, "gone": 0, "doubtful": 0, "heads": 3}
    assert register.here.head_count.participants == 1
    assert [one.alone for one in register.people] == [False, True]
    mark(world, adult, "absent")
    register = register_of(world.walk)
    assert register.expected.head_count.participants == 1
    assert register.expected.one_guide_missing.statement.refusals
    mark(world, adult, "present")
    assert [one.alone for one in register_of(world.walk).people] == [False, False]


def test_a_guide_who_does_not_come_is_not_counted(world: World, family: Booking, gwen: Client) -> None:
    """Harry stays away: one adult of ours is too few with a child, and the walk may not start so."""
    adult, child = family.party.people.order_by("pk")
    missed = address(world, f"ours/{world.harry.public_id}/")
    mark(world, child, "present")
    with time_machine.travel(world.walk.starts_at, tick=False):
        assert not register_of(world.walk).here.refusals
        page = gwen.post(missed, {"here": "no"}, follow=True)
        assert "so not counted among our people" in words_of(page.content)
        register = register_of(session_again(world))
        assert register.counts["heads"] == 2
        assert register.here.refusals
        mark(world, adult, "absent")
        assert set(register.here.refusals) & set(hard_stops_of(session_again(world), now=world.walk.starts_at))
        gwen.post(missed, {"here": "yes"})
    assert not register_of(session_again(world)).here.refusals
    told = AuditLine.objects.filter(act="say who guides").order_by("pk")
    assert [one.reason for one in told] == ["Harry Guide did not come", "Harry Guide is here"]


def test_who_is_there_can_lead_where_the_leading_guide_is_not(world: World, gwen: Client) -> None:
    """Gwen led; Harry says on his phone that she did not come, is asked once, and leads."""
    harry, lead = signed_in(world.harry.user), address(world, f"ours/{world.harry.public_id}/lead/")
    with time_machine.travel(world.walk.starts_at, tick=False):
        assert "Leads instead" not in words_of(harry.get(address(world)).content)
        page = harry.post(address(world, f"ours/{world.gwen.public_id}/"), {"here": "no"}, follow=True)
        assert "Nobody leads" in words_of(page.content)
        assert b"Leads instead" in page.content
        asked = harry.post(lead)
        assert "answers for the walk" in words_of(asked.content)
        seen = BeautifulSoup(asked.content, "html.parser").select_one("[name=seen]")
        assert seen is not None
        page = harry.post(lead, {"seen": seen["value"]}, follow=True)
        assert "Harry Guide leads." in words_of(page.content)
        assert "Nobody leads" not in words_of(harry.get(address(world)).content)
    assert session_of(session_again(world)).guides == (world.harry, world.gwen)


def test_no_guide_is_missed_before_the_day(world: World, gwen: Client) -> None:
    with time_machine.travel(world.walk.starts_at - timedelta(hours=3), tick=False):
        page = gwen.post(address(world, f"ours/{world.harry.public_id}/"), {"here": "no"}, follow=True)
    assert "Nobody can be missed yet." in words_of(page.content)
    assert register_of(session_again(world)).counts["heads"] == 2


def session_again(world: World) -> Walk:
    """The walk as the database has it now."""
    return with_everything(Walk.objects.filter(pk=world.walk.pk)).get()


def test_the_page_ticks_without_javascript(world: World, family: Booking, gwen: Client) -> None:
    with time_machine.travel(world.walk.starts_at, tick=False):
        page = BeautifulSoup(gwen.get(address(world)).content, "html.parser")
        button = page.find("button", attrs={"name": "tick"})
        form = {one["name"]: one["value"] for one in page.select("#ticks input[name]")} | {"tick": button["value"]}
        gwen.post(address(world), form)
        gwen.post(address(world), form)
        assert "here" in gwen.get(address(world)).content.decode()
    assert AttendanceMark.objects.count() == 1
    assert [one.standing for one in attendees(world.walk)] == ["present", "unknown"]


def test_whoever_did_not_see_the_other_mark_settles_nothing(world: World, family: Booking, gwen: Client) -> None:
    adult = family.party.people.earliest("pk")
    with time_machine.travel(world.walk.starts_at, tick=False):
        form = {"form_key": str(uuid4()), f"marks-{adult.public_id}": "0", "tick": f"{adult.public_id} present"}
        mark(world, adult, "absent")
        gwen.post(address(world), form)
        assert attendees(world.walk)[0].standing == "conflict"
        assert "Two answers" in gwen.get(address(world)).content.decode()
        gwen.post(address(world), form | {"form_key": str(uuid4()), f"marks-{adult.public_id}": "2"})
    assert attendees(world.walk)[0].standing == "present"


def test_whom_to_ring_is_a_look_and_shows_no_health(world: World, family: Booking, gwen: Client) -> None:
    adult = family.party.people.earliest("pk")
    with time_machine.travel(world.walk.starts_at, tick=False):
        page = gwen.get(address(world, f"{adult.public_id}/emergency/")).content.decode()
    assert 'href="tel:01632 960 003"' in page
    assert "nuts" not in page
    assert [(one.what, one.person_id_of) for one in Look.objects.all()] == [("emergency", adult.public_id)]


def test_a_copy_carries_whom_to_ring_and_no_health(world: World, family: Booking, gwen: Client) -> None:
    with time_machine.travel(world.walk.starts_at, tick=False):
        answer = gwen.post(address(world, "copy/"))
    given = answer.json()
    assert [one["ring"] and one["ring"]["phone"] for one in given["sealed"]["people"]] == ["01632 960 003", None]
    assert "nuts" not in answer.content.decode()
    assert given["kept_until"] == (world.walk.ends_at + timedelta(hours=24)).isoformat()
    assert Look.objects.get().what == "emergency"


@pytest.mark.parametrize("hours", [-25, 3 + 25])
def test_no_copy_outside_the_day(world: World, family: Booking, hours: int) -> None:
    with pytest.raises(NotTakenAlong):
        take_register(world.walk, by=world.olive, now=world.walk.starts_at + timedelta(hours=hours))
    assert not RegisterCopy.objects.exists()
    assert not Look.objects.exists()


def test_who_gave_a_place_back_and_is_ticked_in_the_wood_is_named_and_not_lost(
    world: World, family: Booking, gwen: Client
) -> None:
    """The phone took the register along before the cancellation, and hears of it when it sends."""
    now, person = world.walk.starts_at, family.party.people.earliest("pk")
    copy = take_register(world.walk, by=world.gwen.user, now=now - timedelta(hours=20)).copy
    cancel_booking(family, by="participant", now=now - timedelta(hours=3))
    tick = {"uuid": str(uuid4()), "kind": "mark", "person": person.public_id, "state": "present", "at": now.isoformat()}
    with time_machine.travel(now, tick=False):
        assert send(gwen, address(world, f"copy/{copy.public_id}/"), tick)["without_place"] == [tick["uuid"]]
        register = words_of(gwen.get(address(world)).content)
        assert f"{person.name}, booking {spoken(family.code)}: present" in register
        assert person.name in words_of(gwen.get(address(world, "history/")).content)
        sent = {"form_key": str(uuid4()), f"marks-{person.public_id}": "1", "tick": f"{person.public_id} absent"}
        assert gwen.post(address(world), sent).status_code == 302
        assert "Without a place" not in words_of(gwen.get(address(world)).content)


def send(client: Client, where: str, *ticks: dict[str, str]) -> dict[str, object]:
    answer = client.post(where, json.dumps({"ticks": ticks}), content_type="application/json")
    return answer.json() | {"status": answer.status_code}


def test_ticks_of_a_copy_are_taken_once_and_not_from_a_revoked_one(world: World, family: Booking, gwen: Client) -> None:
    now, person = world.walk.starts_at, family.party.people.earliest("pk").public_id
    copy = take_register(world.walk, by=world.gwen.user, now=now).copy
    where = address(world, f"copy/{copy.public_id}/")
    tick = {"uuid": str(uuid4()), "kind": "mark", "person": person, "state": "present", "at": now.isoformat()}
    with time_machine.travel(now, tick=False):
        for _ in range(2):
            assert send(gwen, where, tick, tick)["taken"] == [tick["uuid"]] * 2
        stranger = tick | {"uuid": str(uuid4()), "person": "nobody"}
        assert send(gwen, where, stranger)["without_place"] == [stranger["uuid"]]
        assert send(gwen, where, tick | {"at": "yesterday"})["status"] == 422
        assert send(gwen, where, tick | {"kind": "of a later version"})["taken"] == []
        revoke_register(copy, by=world.olive, now=now)
        assert send(gwen, where, tick | {"uuid": str(uuid4())})["status"] == 410
        assert gwen.get(where).json() == {"revoked": True}
    assert AttendanceMark.objects.count() == 1


def test_nobody_sends_what_another_guide_entered(world: World, family: Booking, gwen: Client) -> None:
    """Harry signs in on Gwen's phone: her ticks wait for her, and are not written down as his."""
    now, harry = world.walk.starts_at, Client()
    where = address(world, f"copy/{take_register(world.walk, by=world.gwen.user, now=now).copy.public_id}/")
    tick = {"uuid": str(uuid4()), "kind": "mark", "state": "present", "at": now.isoformat()}
    tick["person"] = family.party.people.earliest("pk").public_id
    with time_machine.travel(now, tick=False):
        harry.force_login(world.harry.user)
        for answer in (harry.get(where).json(), send(harry, where, tick)):
            assert answer["refused"] == "Gwen entered these, and sends them: sign in as Gwen. They stay here."
        assert not AttendanceMark.objects.exists()
        assert send(gwen, where, tick)["taken"] == [tick["uuid"]]
    assert AttendanceMark.objects.get().by == world.gwen.user.public_id


@pytest.mark.parametrize("minutes", [-1, 1])
def test_who_no_longer_guides_the_walk_keeps_no_copy_and_loses_no_tick(
    world: World, family: Booking, gwen: Client, minutes: int
) -> None:
    """Over: the device sends what waits on it, and deletes its copy."""
    now = world.walk.starts_at + timedelta(minutes=minutes)
    where = address(world, f"copy/{take_register(world.walk, by=world.gwen.user, now=now).copy.public_id}/")
    tick = {"uuid": str(uuid4()), "kind": "mark", "state": "present", "at": now.isoformat()}
    tick["person"] = family.party.people.earliest("pk").public_id
    world.walk.walk_guides.filter(guide=world.gwen).delete()
    with time_machine.travel(now, tick=False):
        assert gwen.get(address(world)).status_code == 403
        assert gwen.get(where).json()["over"] is True
        assert send(gwen, where, tick)["taken"] == [tick["uuid"]]


def test_times_are_put_right_by_the_clock_of_the_device(world: World, family: Booking, gwen: Client) -> None:
    """Its clock is two hours fast: somebody left, by another guide's clock came back later, and is in the wood."""
    now, person = world.walk.starts_at + timedelta(hours=1), family.party.people.earliest("pk")
    copy = take_register(world.walk, by=world.gwen.user, now=world.walk.starts_at).copy
    fast = timedelta(hours=2)
    left = {"uuid": str(uuid4()), "kind": "mark", "person": person.public_id, "state": "left_early"}
    left["at"] = (now - timedelta(minutes=20) + fast).isoformat()
    with time_machine.travel(now, tick=False):
        body = {"ticks": [left], "sent_at": (now + fast).isoformat()}
        gwen.post(address(world, f"copy/{copy.public_id}/"), json.dumps(body), content_type="application/json")
    mark(world, person, "present", world.harry.user, at=now)
    assert AttendanceMark.objects.earliest("pk").seen_at == now - timedelta(minutes=20)
    assert attendees(world.walk)[0].standing == "conflict"


def test_a_tick_that_cannot_be_keeps_no_other_back(world: World, family: Booking, gwen: Client) -> None:
    """One from before the walk, as it stands now, could have begun, one from the future, and one that is right."""
    now, person = world.walk.starts_at, family.party.people.earliest("pk").public_id
    copy = take_register(world.walk, by=world.gwen.user, now=now).copy
    tick = {"kind": "mark", "person": person, "state": "present"}
    early, good, late = (
        tick | {"uuid": str(uuid4()), "at": (now + timedelta(hours=hours)).isoformat()} for hours in (-24, 0, 24)
    )
    with time_machine.travel(now, tick=False):
        answer = send(gwen, address(world, f"copy/{copy.public_id}/"), early, good, late)
    assert answer["taken"] == [good["uuid"]]
    assert "before anybody can have come" in answer["refused"][early["uuid"]]  # type: ignore[index]
    assert "comes from the future" in answer["refused"][late["uuid"]]  # type: ignore[index]


def test_the_history_names_who_marked_on_which_device_and_shows_two_answers(
    world: World, family: Booking, gwen: Client
) -> None:
    now, person = world.walk.starts_at, family.party.people.earliest("pk")
    with time_machine.travel(now, tick=False):
        device = {"device": str(uuid4()), "device_name": "Gwen’s phone"}
        copy = RegisterCopy.objects.get(public_id=gwen.post(address(world, "copy/"), device).json()["copy"])
        tick = {"uuid": str(uuid4()), "kind": "mark", "person": person.public_id, "state": "present"}
        send(gwen, address(world, f"copy/{copy.public_id}/"), tick | {"at": now.isoformat()})
        mark(world, person, "absent")
        page = words_of(gwen.get(address(world, "history/")).content)
    assert str(copy.device) == device["device"]
    assert "two answers present" in page
    assert "Gwen Gwen’s phone, without signal" in page
    assert "Olive with signal" in page


def test_the_worker_keeps_no_page_of_staff(gwen: Client) -> None:
    worker = gwen.get("/register/worker.js")
    kept = worker.content.decode().split("KEPT = ")[1].split(";")[0]
    assert [one for one in json.loads(kept) if "staff" in one] == []
    assert "&quot;" not in kept
    assert worker["Content-Type"].startswith("text/javascript")


TEN = datetime(2026, 10, 3, 10, tzinfo=UTC)
TICKS = st.lists(
    st.builds(
        Mark,
        st.sampled_from(["present", "absent", "left_early"]),
        st.integers(0, 480).map(lambda minutes: TEN + timedelta(minutes=minutes)),
        st.sampled_from(["gwen", "harry", "olive"]),
    ),
    max_size=12,
)


@settings(deadline=None)  # a law, not a race against the clock of a busy machine
@given(ticks=TICKS, again=st.lists(st.integers(0, 11), max_size=6), data=st.data())
def test_law_three_devices_in_any_order_and_some_ticks_twice(
    ticks: list[Mark], again: list[int], data: st.DataObject
) -> None:
    doubled = ticks + [ticks[one] for one in again if one < len(ticks)]
    assert standing(data.draw(st.permutations(doubled))) == standing(ticks)


def typed(copy: RegisterCopy, kind: str, **fields: str) -> dict[str, object]:
    """Something that was typed on the device of `copy` and sealed for us."""
    event = str(uuid4())
    return {"uuid": event, "kind": kind, "at": copy.walk.starts_at.isoformat(), "sealed": sealed(copy, event, fields)}


WREN = {"adults": "1", "names": "Wilma Wren", "name": "Wilma Wren", "phone": "01632 960 004", "rules": "on"}
WREN |= {"rules_read": "1", "pays": "later", "heard": "refused"}


def test_what_was_typed_is_taken_in_any_order_and_each_thing_once(world: World, family: Booking, gwen: Client) -> None:
    copy = take_register(world.walk, by=world.gwen.user, now=world.walk.starts_at).copy
    where = address(world, f"copy/{copy.public_id}/")
    party, find = typed(copy, "walk_up", **WREN), typed(copy, "find", words="small brown one", blur_m="1000")
    of_party = {"uuid": str(uuid4()), "kind": "mark", "person": f"{party['uuid']}/0", "state": "left_early"}
    of_party["at"] = (world.walk.starts_at + timedelta(minutes=9)).isoformat()
    with time_machine.travel(world.walk.starts_at, tick=False):
        early = send(gwen, where, of_party)
        assert (early["taken"], early["without_place"], early["refused"]) == ([], [], {})
        for _ in range(2):
            assert set(send(gwen, where, of_party, find, party)["taken"]) == {
                party["uuid"],
                find["uuid"],
                of_party["uuid"],
            }
        page = words_of(gwen.get(address(world)).content)
    assert (WalkUp.objects.count(), Find.objects.get().words) == (1, "small brown one")
    assert {one.name: one.standing for one in attendees(world.walk)}["Wilma Wren"] == "left_early"
    assert "Asked where you met; nothing of it is written." in page


def test_what_cannot_be_taken_stays_on_the_device_with_its_reason(world: World, family: Booking, gwen: Client) -> None:
    now = world.walk.starts_at
    copy, other = (take_register(world.walk, by=world.gwen.user, now=now).copy for _ in range(2))
    stranger, nameless = typed(other, "walk_up", **WREN), typed(copy, "walk_up", **WREN | {"names": ""})
    late = {"uuid": str(uuid4()), "kind": "mark", "person": "nobody", "state": "present"}
    late["at"] = (now + timedelta(hours=1)).isoformat()
    with time_machine.travel(now, tick=False):
        answer = send(gwen, address(world, f"copy/{copy.public_id}/"), stranger, nameless, late)
    refused = answer["refused"]
    assert answer["taken"] == answer["without_place"] == []
    assert "was not sealed for us" in refused[stranger["uuid"]]  # type: ignore[index]
    assert "Write everybody’s name" in refused[nameless["uuid"]]  # type: ignore[index]
    assert "comes from the future" in refused[late["uuid"]]  # type: ignore[index]
    assert not WalkUp.objects.exists()


def test_a_copy_carries_the_forms_without_a_token_and_the_limits_as_numbers(
    world: World, family: Booking, gwen: Client
) -> None:
    with time_machine.travel(world.walk.starts_at, tick=False):
        carried = gwen.post(address(world, "copy/")).json()["sealed"]
    assert "csrfmiddlewaretoken" not in carried["walk_up"]["form"] + carried["find"]
    assert carried["walk_up"]["adds"]["adults"] == 1800
    assert [one["number"] for one in carried["people"]] == [None, 2]
    assert {one["key"] for one in carried["limits"]["all"]} >= {"site", "permission", "insurance", "guides", "pool"}
