"""What was erased is in no file of SQLite any more: not in the database, nor in the log written ahead of it."""

from __future__ import annotations

import subprocess
from datetime import timedelta
from pathlib import Path

import pytest
from django.db import connection

from bookings import tombstones
from bookings.management.commands.work import Command
from bookings.models import Booking, Declaration
from bookings.services.book_places import book_places
from bookings.services.cancel_booking import cancel_booking
from bookings.services.erase import erase_party
from foraywright.floor.write_ahead_log import empty_the_log
from tests.bookings.test_declarations import told
from tests.cast import World

pytestmark = [
    pytest.mark.database,
    pytest.mark.skipif(connection.vendor != "sqlite", reason="the files of PostgreSQL are its server's"),
]
CANARY = "Zarah Kanarek"
WORDS = [one.encode() for one in (CANARY, CANARY.lower(), "kanarek@example.org")]


@pytest.fixture
def booking(real_world: World, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Booking:
    monkeypatch.setattr(tombstones, "path", lambda: tmp_path / "erased.jsonl")
    order = real_world.order("adult", name=CANARY, email="kanarek@example.org", names=(CANARY,))
    booking = book_places(order, by="participant", now=real_world.now)
    told(booking.party.people.get())
    return booking


def files(*endings: str) -> bytes:
    """The raw bytes of the database's files with these endings.

    Read by another process: closing a file gives up every lock this process holds on it, and the next process that
    opens the database then takes its log away from under us (sqlite.org/howtocorrupt.html, section 2.2).
    """
    paths = (Path(f"{connection.settings_dict['NAME']}{ending}") for ending in endings)
    return b"".join(subprocess.check_output(["cat", path]) for path in paths if path.exists())


def left(*words: bytes) -> list[bytes]:
    everything = files("", "-wal", "-shm", "-journal")
    return [one for one in words if one in everything]


def test_a_name_is_gone_when_the_worker_next_keeps_house(booking: Booking, real_world: World) -> None:
    cancel_booking(booking, by="participant", now=real_world.now)
    erase_party(booking, reason="asked", by=real_world.olive, now=real_world.now)
    assert WORDS[0] in files("-wal"), "else there is nothing to see here"
    Command()._keep_house(real_world.now)
    assert left(*WORDS) == []
    assert files("-wal") == b""


def test_sealed_answers_are_gone_when_their_time_is_over(booking: Booking, real_world: World) -> None:
    sealed = sealed_answers()
    assert left(*sealed) == sealed != []
    empty_the_log()
    assert left(*sealed) == sealed, "they stand in the database file itself"
    Command()._keep_house(real_world.walk.ends_at + timedelta(days=60))
    assert not Declaration.objects.exists()
    assert left(*sealed) == []


def sealed_answers() -> list[bytes]:
    """What stands in the table of declarations as it is stored."""
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT * FROM {Declaration._meta.db_table}")
        return [one.encode() for row in cursor.fetchall() for one in row if isinstance(one, str) and len(one) > 60]


def test_a_reader_in_the_way_is_waited_for_briefly_and_the_usual_patience_comes_back(real_world: World) -> None:
    assert empty_the_log()
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA busy_timeout")
        assert cursor.fetchone() == (20_000,)
        cursor.execute("PRAGMA secure_delete")
        assert cursor.fetchone() == (1,)
    reader = connection.copy()
    try:
        reader.cursor().execute("BEGIN DEFERRED")
        reader.cursor().execute("SELECT * FROM floor_auditline").fetchall()
        real_world.wood.save()
        assert not empty_the_log()
    finally:
        reader.close()
    assert empty_the_log()
