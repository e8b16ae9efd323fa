"""The feeds of a site, a theme, a guide and the seasons; no change of a fact is ever answered "not modified"."""

from __future__ import annotations

import ast
from collections.abc import Callable
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from random import Random

import icalendar
import pytest
import time_machine
import vobject
from django.test import Client
from django.urls import reverse

from bookings.services.book_places import book_places
from bookings.services.call_off_walk import call_off_walk
from curriculum.models import AccountVersion, SignOff, Taxon
from curriculum.services.load_starter import load_starter
from foraywright.floor.models import LinkSecret
from tests.cast import World, make_theme, make_wood
from tests.conftest import NOW
from tests.curriculum.garlic import garlic_files
from tests.pages import say_yes
from walks.feeds.species import runs
from walks.models import Offering, Theme, Walk
from walks.services.new_guide_feed import new_guide_feed
from walks.services.publish_walk import publish_walk
from walks.services.save_certificate import save_certificate
from walks.services.save_guide import save_guide
from walks.services.schedule_walk import schedule_walk

pytestmark = pytest.mark.usefixtures("september")

FEED = "/calendar/walks.ics"


def titles(address: str) -> set[str]:
    answer = Client().get(address)
    assert answer.status_code == 200
    return {str(one["SUMMARY"]) for one in icalendar.Calendar.from_ical(answer.content).walk("VEVENT")}


def published(world: World, day: date, title: str, **changes: object) -> Offering:
    plan_changes = {key: changes.pop(key) for key in ("theme",) if key in changes}
    plan = world.plan(world.session(local_date=day, **changes), title=title, **plan_changes)
    return publish_walk(schedule_walk(plan, by=world.olive, now=world.now), by=world.olive, now=world.now)


def test_a_site_and_a_theme_have_feeds_of_their_own(world: World) -> None:
    shore = make_wood(name="Shore")
    Theme.objects.update(name="First")
    other = make_theme()
    published(world, date(2026, 10, 10), "At the shore", site=shore)
    published(world, date(2026, 10, 17), "Something else", theme=other)
    assert titles(FEED) == {"The bare wood", "At the shore", "Something else"}
    assert titles(reverse("site_feed", args=[shore.public_id])) == {"At the shore"}
    assert titles(reverse("theme_feed", args=[other.public_id])) == {"Something else"}
    page = Client().get("/calendar/").content.decode()
    for name, one in (("site_feed", shore), ("theme_feed", other)):
        assert reverse(name, args=[one.public_id]) in page
    assert reverse("species_feed") in page


def test_each_feed_has_a_name_and_a_tag_of_its_own(world: World) -> None:
    of_site = reverse("site_feed", args=[world.wood.public_id])
    addresses = [FEED, of_site, reverse("theme_feed", args=[world.theme.public_id])]
    answers = [Client().get(one) for one in addresses]
    assert len({one["ETag"] for one in answers}) == 3
    names = {str(icalendar.Calendar.from_ical(one.content)["NAME"]) for one in answers}
    assert names == {
        "Walks of Cast and Company", "Cast Wood: walks of Cast and Company", "Winter wood: walks of Cast and Company",
    }  # fmt: skip


def test_a_guide_follows_their_own_walks_until_there_is_a_new_link(world: World) -> None:
    published(world, date(2026, 10, 10), "Gwen alone")
    client = Client()
    client.force_login(world.gwen.user)
    first = say_yes(client, reverse("staff_guide_feed", args=[world.gwen.public_id]))
    assert first["Cache-Control"] == "no-store"
    assert "/calendar/guide/" in first.content.decode()
    token = new_guide_feed(world.gwen, by=world.olive, now=world.now)
    answer = Client().get(reverse("guide_feed", args=[token]))
    assert answer["Cache-Control"] == "private, no-cache"
    assert answer["X-Robots-Tag"] == "noindex"
    assert not answer.cookies
    assert titles(reverse("guide_feed", args=[token])) == {"The bare wood", "Gwen alone"}
    of_harry = new_guide_feed(world.harry, by=world.olive, now=world.now)
    assert titles(reverse("guide_feed", args=[of_harry])) == {"The bare wood"}
    new_guide_feed(world.gwen, by=world.olive, now=world.now)
    dead, never = (Client().get(reverse("guide_feed", args=[one])) for one in (token, "never~was"))
    assert (dead.status_code, dead.content) == (never.status_code, never.content)
    assert dead.status_code == 404


def test_the_link_of_a_guide_is_stored_hashed(world: World) -> None:
    token = new_guide_feed(world.gwen, by=world.olive, now=world.now)
    assert token.partition("~")[0] not in str(LinkSecret.objects.values())


def test_another_guide_makes_no_link_for_gwen(world: World) -> None:
    client = Client()
    client.force_login(world.harry.user)
    assert client.post(reverse("staff_guide_feed", args=[world.gwen.public_id])).status_code == 403


@pytest.fixture
def signed(world: World, tmp_path: Path) -> AccountVersion:
    """Wild garlic, its draft signed by a row alone: who may sign is another test's matter."""
    load_starter(garlic_files(tmp_path), by="command", now=world.now)
    version = AccountVersion.objects.get(taxon__key="allium-ursinum")
    SignOff.objects.create(
        version=version, reviewer=world.rosa, reviewer_name="Rosa", competence="x", kind=SignOff.Kind.values[0],
        signed_at=world.now, review_by=date(2028, 1, 1), rules_version=1,
    )  # fmt: skip
    return version


def test_the_seasons_are_all_day_events_with_the_sheet(signed: AccountVersion) -> None:
    answer = Client().get(reverse("species_feed"))
    read = icalendar.Calendar.from_ical(answer.content)
    found = read.walk("VEVENT")
    assert found
    assert {one["DTSTART"].dt.year for one in found} == {2026, 2027}
    for one in found:
        assert one["DTSTART"].params["VALUE"] == "DATE"
        assert one["DTEND"].dt > one["DTSTART"].dt
        assert one["ATTACH"].endswith("/sheet.pdf")
        assert one["ATTACH"].params["FMTTYPE"] == "application/pdf"
        assert "No find is safe because of a date" in str(one["DESCRIPTION"])
        assert one["DTSTAMP"].dt == signed.sign_off.signed_at
    by_vobject = vobject.readOne(answer.content.decode()).vevent_list
    assert {(one.uid.value, one.dtstart.value) for one in by_vobject} == {
        (str(one["UID"]), one["DTSTART"].dt) for one in found
    }


def test_an_unsigned_account_has_no_season_to_follow(world: World, tmp_path: Path) -> None:
    load_starter(garlic_files(tmp_path), by="command", now=world.now)
    assert Taxon.objects.exists()
    assert titles(reverse("species_feed")) == set()


@pytest.mark.parametrize(
    ("months", "expected"),
    [
        ((3, 4, 5), [("2026-03-01", "2026-06-01"), ("2027-03-01", "2027-06-01")]),
        ((11, 12, 1, 2), [("2026-11-01", "2027-03-01"), ("2027-11-01", "2028-03-01")]),
        ((12,), [("2026-12-01", "2027-01-01"), ("2027-12-01", "2028-01-01")]),
        ((3, 4, 9), [("2026-03-01", "2026-05-01"), ("2026-09-01", "2026-10-01"), ("2027-03-01", "2027-05-01"),
                     ("2027-09-01", "2027-10-01")]),
        (tuple(range(1, 13)), [("2026-01-01", "2027-01-01"), ("2027-01-01", "2028-01-01")]),
        ((), []),
    ],
)  # fmt: skip
def test_months_that_follow_each_other_are_one_season(months: tuple[int, ...], expected: list[tuple[str, str]]) -> None:
    assert [(first.isoformat(), last.isoformat()) for first, last in runs(months, 2026)] == expected


def edits(world: World) -> list[Callable[[int], object]]:
    """Acts that change what a feed shows, or might."""
    facts = {"title": "First aid", "kind": "first_aid", "valid_from": date(2026, 1, 1), "valid_to": date(2026, 12, 31)}
    guide = {"name": "Gwen Guide", "days_a_week": 7, "may_lead": world.gwen.may_lead, "active": True, "adult": True}

    def publish(number: int) -> object:
        return published(world, date(2026, 10, 4) + timedelta(number), f"Walk {number}", guides=(world.gwen,))

    def book(number: int) -> object:
        return book_places(world.order("adult"), by="participant", now=world.now)

    def largest(number: int) -> object:
        return save_guide(guide | {"largest_group": 4 + number % 3}, guide=world.gwen, by=world.olive, now=world.now)

    def certify(number: int) -> object:
        return save_certificate(world.gwen, facts, by=world.olive, now=world.now)

    def call_off(number: int) -> object:
        one = Offering.objects.filter(state="published").exclude(pk=world.offering.pk).first()
        return one and call_off_walk(one, why=f"Storm {number}", by=world.olive, now=world.now)

    def draft(number: int) -> object:
        session = world.session(
            local_date=date(2026, 11, 1), local_time=time(9), minutes=15 + number, guides=(world.harry,)
        )
        return number % 9 == 0 and schedule_walk(world.plan(session), by=world.olive, now=world.now)

    return [publish, book, largest, certify, call_off, draft]


@pytest.mark.django_db(transaction=True)
def test_no_wrong_304_over_random_edits_and_passing_days(real_world: World) -> None:
    """What the tag says is unchanged is unchanged to the byte, after every act and on every day."""
    dice, reader = Random(3), Client()
    some, moment = edits(real_world), NOW
    seen: dict[str, bytes] = {}
    unchanged = 0
    for number in range(60):
        if dice.random() < 0.6:
            some[dice.randrange(len(some))](number % 20)
        moment += timedelta(hours=dice.choice([0, 0, 1, 30]))
        with time_machine.travel(moment, tick=False):
            answer = reader.get(FEED)
        tag = answer["ETag"]
        unchanged += tag in seen
        assert seen.setdefault(tag, answer.content) == answer.content, number
    assert 5 < unchanged < 55


def test_a_walk_that_begins_or_leaves_gives_another_tag(world: World) -> None:
    tags = []
    for moment in (NOW, world.walk.starts_at, datetime(2027, 10, 4, 12, tzinfo=UTC)):
        with time_machine.travel(moment, tick=False):
            tags.append(Client().get(FEED)["ETag"])
            assert Client().get(FEED)["ETag"] == tags[-1]
    assert len(set(tags)) == 3
    assert Walk.objects.count() == 1


SHOW_NOTHING = {
    "add_to_assessment", "ask_for_plan", "attach_document", "change_session", "choose_matrix", "decide_on_weather",
    "decide_proposal", "edit_assessment", "keep_absence", "make_plan", "new_guide_feed", "remove_absence",
    "remove_document", "remove_template", "save_template", "schedule_walk", "set_arrivals", "sign_assessment",
    "start_walk", "add_site", "copy_offering", "keep_find", "save_route", "say_who_guides",
    "take_the_lead",
}  # fmt: skip
"""Acts of the room whose facts no feed shows: drafts, papers, plans, assessments, absences, finds, routes, the day."""


def test_every_act_of_the_room_raises_the_revision_or_is_known_to_show_nothing() -> None:
    silent = set()
    for file in Path("walks/services").glob("*.py"):
        tree = ast.parse(file.read_text(encoding="utf-8"))
        names = {node.id for node in ast.walk(tree) if isinstance(node, ast.Name)}
        if "act" in names and "bump_feed" not in names:
            silent.add(file.stem)
    assert silent <= SHOW_NOTHING
