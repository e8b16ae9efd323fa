"""The worker as a process: killed, stopped, run again."""

from __future__ import annotations

import signal
from datetime import timedelta
from pathlib import Path

import pytest
from django.core.management import call_command
from django.db import OperationalError
from django.utils import timezone

from bookings.management.commands import work
from bookings.models import OutboxMessage, WorkerFault
from bookings.services.book_places import book_places
from bookings.today import what_needs_somebody
from tests.bookings.mail_server import mail_server
from tests.bookings.processes import end, start, wait_until
from tests.cast import OFFICE, World

pytestmark = pytest.mark.database


def book(world: World, number: int) -> None:
    """`number` bookings whose confirmations are due by the clock on the wall, which the worker reads."""
    for _ in range(number):
        book_places(world.order("adult"), by="participant", now=world.now)
    OutboxMessage.objects.update(due_at=timezone.now() - timedelta(minutes=1))


@pytest.mark.django_db(transaction=True)
def test_before_the_business_is_recorded_there_is_nothing_to_do_and_nothing_fails() -> None:
    call_command("work", once=True)
    assert not WorkerFault.objects.exists()


def run_once(folder: Path, port: int) -> None:
    process = start(folder, "work", "--once", EMAIL_URL=f"smtp://127.0.0.1:{port}")
    said, _ = process.communicate(timeout=60)
    assert process.returncode == 0, said


def test_once_sends_what_is_due_and_a_second_run_nothing_more(real_world: World, tmp_path: Path) -> None:
    book(real_world, 3)
    with mail_server() as (port, handler):
        run_once(tmp_path, port)
        run_once(tmp_path, port)
    assert len({one["Message-ID"] for one in handler.accepted}) == len(handler.accepted) == 3
    assert not OutboxMessage.objects.filter(done_at=None).exists()


def test_killed_in_the_middle_of_sending_nothing_is_lost(real_world: World, tmp_path: Path) -> None:
    book(real_world, 2)
    with mail_server(seconds=3) as (port, handler):
        victim = start(tmp_path, "work", EMAIL_URL=f"smtp://127.0.0.1:{port}")
        wait_until(lambda: handler.begun == 1)
        end(victim, signal.SIGKILL)
        assert victim.returncode == -signal.SIGKILL
        half_done = OutboxMessage.objects.get(attempts=1)
        assert half_done.done_at is None
        wait_until(lambda: len(handler.accepted) == 1)
        handler.seconds = 0
        run_once(tmp_path, port)
        assert len(handler.accepted) == 2, "the lease still protects what the dead worker had in hand"
        OutboxMessage.objects.filter(pk=half_done.pk).update(lease_until=timezone.now() - timedelta(seconds=1))
        run_once(tmp_path, port)
        run_once(tmp_path, port)
    sent = [one["Message-ID"] for one in handler.accepted]
    assert set(sent) == set(OutboxMessage.objects.values_list("message_id", flat=True))
    assert len(sent) == 3
    assert sent.count(half_done.message_id) == 2
    assert not OutboxMessage.objects.filter(done_at=None).exists()


@pytest.mark.parametrize("by", [signal.SIGTERM, signal.SIGINT])
def test_told_to_stop_it_finishes_the_row_in_hand(real_world: World, tmp_path: Path, by: signal.Signals) -> None:
    book(real_world, 2)
    with mail_server(seconds=1) as (port, handler):
        process = start(tmp_path, "work", EMAIL_URL=f"smtp://127.0.0.1:{port}")
        wait_until(lambda: handler.begun == 1)
        code, said = end(process, by)
    assert code == 0, said
    assert len(handler.accepted) == 1
    assert OutboxMessage.objects.filter(done_at__isnull=False).count() == 1
    assert OutboxMessage.objects.filter(attempts=0, lease_until=None).count() == 1


def test_a_locked_database_is_waited_for(real_world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    book(real_world, 1)
    tried: list[int] = []

    def locked_once(**options: object) -> object:
        tried.append(1)
        if len(tried) == 1:
            raise OperationalError("database is locked")
        command.stopping = True
        return None

    monkeypatch.setattr(work, "send_next_message", locked_once)
    monkeypatch.setattr(work, "IDLE_SECONDS", 0)
    monkeypatch.setattr(work.signal, "signal", lambda *args: None)
    command = work.Command()
    call_command(command)
    assert len(tried) == 2


def test_a_fault_in_one_kind_of_work_does_not_end_the_worker(
    real_world: World, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr(work, "want_booklets", lambda now: 1 / 0)
    monkeypatch.setattr(work.signal, "signal", lambda *args: None)
    call_command(work.Command(), "--once")
    assert "ZeroDivisionError" in caplog.text


def broken(now: object) -> None:
    raise ValueError("wim@example.org")


def told(world: World) -> list[str]:
    return [one.words for one in what_needs_somebody(OFFICE, now=world.now) if "worker" in one.words]


def test_a_fault_in_one_step_of_the_house_takes_no_other_with_it(
    real_world: World, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    done: list[str] = []
    for name in ("want_booklets", "remind_of_payments", "tell_of_lapsed_quotes", "forget_attempts"):
        monkeypatch.setattr(work, name, broken)
    monkeypatch.setattr(work, "ERASINGS", (broken, lambda now: done.append("erased")))
    monkeypatch.setattr(work, "forget_enquiries", lambda now: done.append("enquiries"))
    monkeypatch.setattr(work, "empty_the_log", lambda: done.append("log"))
    work.Command()._keep_house(real_world.now)
    assert done == ["enquiries", "erased", "log"]


def test_what_the_worker_fails_at_is_on_today_until_it_succeeds(
    real_world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    command = work.Command()
    with monkeypatch.context() as patched:
        patched.setattr(work, "forget_attempts", broken)
        command._keep_house(real_world.now)
        command._keep_house(real_world.now + timedelta(minutes=5))
        [sentence] = told(real_world)
    assert "“broken” (ValueError)" in sentence
    assert "wim" not in sentence
    assert WorkerFault.objects.count() == 1
    again = work.Command()
    again._read_what_failed(real_world.now)
    assert told(real_world) == [], "no kind of that name is left"


def test_a_kind_that_succeeds_again_is_taken_off_by_another_worker_too(
    real_world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    def forget_attempts(now: object) -> None:
        raise ValueError

    with monkeypatch.context() as patched:
        patched.setattr(work, "forget_attempts", forget_attempts)
        work.Command()._keep_house(real_world.now)
    assert [one for one in told(real_world) if "“forget attempts”" in one]
    monkeypatch.setattr(work.signal, "signal", lambda *args: None)
    call_command(work.Command(), "--once")
    assert told(real_world) == []


def test_housekeeping_comes_every_five_minutes(real_world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    wanted: list[object] = []
    monkeypatch.setattr(work, "want_booklets", lambda now: wanted.append(now))
    command, now = work.Command(), real_world.now
    for minutes in (0, 1, 4.9, 5, 9.9, 10):
        command._keep_house(now + timedelta(minutes=minutes))
    assert wanted == [now, now + timedelta(minutes=5), now + timedelta(minutes=10)]


def test_letters_go_out_before_booklets_are_built(real_world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    book(real_world, 3)
    order: list[str] = []

    def letter(now: object) -> bool:
        order.append("letter")
        return len(order) < 3

    def booklet(now: object) -> None:
        order.append("booklet")

    monkeypatch.setattr(work, "send_next_message", letter)
    monkeypatch.setattr(work, "build_next_document", booklet)
    monkeypatch.setattr(work.signal, "signal", lambda *args: None)
    call_command(work.Command(), "--once")
    assert order == ["letter", "letter", "letter", "booklet"]
