"""The feed over HTTP: what caches and calendar programs rely on, and one real program that follows it."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from datetime import time, timedelta
from pathlib import Path
from unittest.mock import patch

import icalendar
import pytest
import time_machine
from django.test import Client
from pytest_django.live_server_helper import LiveServer

from bookings.services.call_off_walk import call_off_walk
from bookings.services.change_walk import change_walk
from tests.cast import World
from tests.conftest import NOW
from walks.models import Offering
from walks.queries import offering_slugs
from walks.services.publish_walk import publish_walk
from walks.services.schedule_walk import schedule_walk

FEED = "/calendar/walks.ics"


@pytest.fixture
def reader(world: World) -> Client:
    return Client()


def test_type_cache_and_no_cookie(reader: Client) -> None:
    answer = reader.get(FEED)
    assert answer.status_code == 200
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    assert answer["Cache-Control"] == "public, max-age=300"
    assert "Content-Disposition" not in answer
    assert not answer.cookies


def test_nothing_is_built_for_a_304(reader: Client, django_assert_num_queries: object) -> None:
    etag = reader.get(FEED)["ETag"]
    with (
        patch("walks.feeds.following.calendar", side_effect=AssertionError("built")),
        django_assert_num_queries(4),  # type: ignore[operator]
    ):
        assert reader.get(FEED, headers={"if-none-match": etag}).status_code == 304


def test_unchanged_is_answered_304_without_a_body(reader: Client) -> None:
    etag = reader.get(FEED)["ETag"]
    answer = reader.get(FEED, headers={"if-none-match": etag})
    assert answer.status_code == 304
    assert answer.content == b""
    assert answer["ETag"] == etag


def test_a_weak_etag_of_a_compressed_answer_matches(reader: Client) -> None:
    answer = reader.get(FEED, headers={"accept-encoding": "gzip"})
    assert answer["Content-Encoding"] == "gzip"
    assert answer["ETag"].startswith("W/")
    assert reader.get(FEED, headers={"if-none-match": answer["ETag"]}).status_code == 304


def test_if_modified_since_alone_never_gives_304(reader: Client) -> None:
    for when in ("Fri, 01 Jan 2100 00:00:00 GMT", "not a date"):
        assert reader.get(FEED, headers={"if-modified-since": when}).status_code == 200


def test_head_is_get_without_a_body(reader: Client) -> None:
    get, head = reader.get(FEED), reader.head(FEED)
    assert head.status_code == 200
    assert head.content == b""
    assert head["ETag"] == get["ETag"]


def test_post_is_refused(reader: Client) -> None:
    assert reader.post(FEED).status_code == 405


def test_one_walk_by_its_slug(world: World) -> None:
    slug = offering_slugs()[world.offering.public_id]
    answer = Client().get(f"/walks/{slug}/walk.ics")
    (one,) = icalendar.Calendar.from_ical(answer.content).walk("VEVENT")
    assert one["UID"] == world.walk.calendar_uid


def test_a_draft_or_unknown_walk_is_not_found(world: World) -> None:
    slug = offering_slugs()[world.offering.public_id]
    Offering.objects.update(state=Offering.State.DRAFT)
    assert Client().get(f"/walks/{slug}/walk.ics").status_code == 404
    assert Client().get("/walks/no-such-walk/walk.ics").status_code == 404


class Follower:
    """A calendar program of the command line that mirrors the feed into a folder of files, one an entry.

    It trusts no feed to keep its UIDs and gives the files names and UIDs from the hash of what each entry says.
    """

    def __init__(self, folder: Path, address: str) -> None:
        self.folder, self.config = folder / "entries", folder / "config"
        self.folder.mkdir()
        (folder / "status").mkdir()
        self.config.write_text(
            f'[general]\nstatus_path = "{folder}/status/"\n'
            '[pair walks]\na = "here"\nb = "there"\ncollections = null\nconflict_resolution = "b wins"\n'
            f'[storage here]\ntype = "filesystem"\npath = "{self.folder}"\nfileext = ".ics"\n'
            f'[storage there]\ntype = "http"\nurl = "{address}"\nread_only = true\n'
        )

    def run(self, *words: str) -> str:
        command = [str(Path(sys.executable).with_name("vdirsyncer")), "-c", str(self.config), *words]
        done = subprocess.run(command, capture_output=True, text=True, input="y\n", timeout=60, check=False)
        assert done.returncode == 0, done.stdout + done.stderr
        return done.stderr + done.stdout

    def entries(self) -> dict[str, icalendar.Event]:
        found = [icalendar.Calendar.from_ical(one.read_bytes()) for one in self.folder.glob("*.ics")]
        return {str(one["SUMMARY"]): one for whole in found for one in whole.walk("VEVENT")}


@pytest.mark.django_db(transaction=True)
@time_machine.travel(NOW, tick=True)
def test_a_calendar_program_follows_the_walks(real_world: World, live_server: LiveServer, tmp_path: Path) -> None:
    follower = Follower(tmp_path, f"{live_server.url}{FEED}")
    follower.run("discover")
    follower.run("sync")
    before = {one.name for one in follower.folder.iterdir()}
    assert set(follower.entries()) == {"The bare wood"}
    follower.run("sync")
    assert {one.name for one in follower.folder.iterdir()} == before
    session = real_world.session(local_date=real_world.walk.local_date + timedelta(days=7))
    draft = schedule_walk(real_world.plan(session, title="Another wood"), by=real_world.olive, now=real_world.now)
    another = publish_walk(draft, by=real_world.olive, now=real_world.now).walks.get()
    call_off_walk(real_world.offering, why="Storm damage.", by=real_world.olive, now=real_world.now)
    follower.run("sync")
    found = follower.entries()
    assert set(found) == {"Called off: The bare wood", "Another wood"}
    assert found["Called off: The bare wood"]["STATUS"] == "CANCELLED"
    assert found["Another wood"]["DTSTART"].dt == another.starts_at
    moved = replace(session, local_time=time(14))
    change_walk(another, moved, why="The tide.", by=real_world.olive, now=real_world.now)
    follower.run("sync")
    another.refresh_from_db()
    assert follower.entries()["Another wood"]["DTSTART"].dt == another.starts_at
    assert follower.entries()["Another wood"]["SEQUENCE"] == 1
    with time_machine.travel(NOW + timedelta(days=55), tick=True):  # 30 days after the date of the one called off
        follower.run("sync")
    assert set(follower.entries()) == {"Another wood"}
