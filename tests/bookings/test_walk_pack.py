"""`manage.py walk_pack`: the files, and its refusals."""

from __future__ import annotations

from datetime import datetime
from io import StringIO
from pathlib import Path

import icalendar
import pytest
import time_machine
from django.core.management import CommandError, call_command

from bookings.services.book_places import book_places
from tests.cast import World
from tests.walks.printed import teach, the_walk
from walks.queries import slug_of

FILES = ["check-sheet.pdf", "handouts.pdf", "register.pdf", "risk-assessment.pdf", "walk.ics"]


@pytest.fixture
def walk(world: World, now: datetime) -> object:
    teach(world, "pleurotus-ostreatus", now=now)
    book_places(world.order(), by="public", now=now)
    with time_machine.travel(now, tick=False):
        yield the_walk(world)


def write(walk: str, folder: Path) -> str:
    out = StringIO()
    call_command("walk_pack", walk, out=folder, stdout=out)
    return out.getvalue()


def test_it_writes_five_files_and_says_so(walk: object, world: World, tmp_path: Path) -> None:
    said = write(slug_of(world.offering.public_id), tmp_path / "pack")
    assert sorted(one.name for one in (tmp_path / "pack").iterdir()) == FILES
    assert all(str(tmp_path / "pack" / name) in said for name in FILES)
    for name in FILES[:4]:
        assert (tmp_path / "pack" / name).read_bytes().startswith(b"%PDF")
    [event] = icalendar.Calendar.from_ical((tmp_path / "pack" / "walk.ics").read_bytes()).walk("VEVENT")
    assert event["UID"] == walk.calendar_uid


def test_an_unknown_walk_names_near_ones_and_writes_nothing(walk: object, world: World, tmp_path: Path) -> None:
    slug = slug_of(world.offering.public_id)
    with pytest.raises(CommandError) as refused:
        write("the-bear-wood", tmp_path)
    assert str(refused.value) == (
        "There is no walk “the-bear-wood”. Nothing was written. "
        f"Give the public id or the slug of a walk, for example: {slug}."
    )
    assert list(tmp_path.iterdir()) == []


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("bookings.management.commands.walk_pack.pack", lambda walk, now: dict.fromkeys(FILES, b"new"))


@pytest.mark.usefixtures("quick")
def test_it_writes_all_or_nothing(walk: object, tmp_path: Path) -> None:
    (tmp_path / "handouts.pdf").write_bytes(b"old")
    (tmp_path / "walk.ics").mkdir()
    with pytest.raises(CommandError, match=r"walk\.ics is a folder there\. What was in that folder is as it was\."):
        write(walk.public_id, tmp_path)
    assert (tmp_path / "handouts.pdf").read_bytes() == b"old"
    assert sorted(one.name for one in tmp_path.iterdir()) == ["handouts.pdf", "walk.ics"]


@pytest.mark.usefixtures("quick")
def test_a_folder_that_cannot_be_written_to_is_refused(walk: object, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("not a folder")
    with pytest.raises(CommandError, match="Choose a folder that you may write to"):
        write(walk.offering.public_id, tmp_path / "file")
