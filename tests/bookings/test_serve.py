"""The site with one command: up together, down together."""

from __future__ import annotations

import signal
import socket
import subprocess
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.core.management import CommandError

from bookings.management.commands.serve import login_lines, refuse_taken
from foraywright.floor.models import Business
from tests.bookings.processes import children_of, end, free_port, start, wait_until
from tests.cast import World


def answers(port: int) -> bool:
    try:
        with urllib.request.urlopen(f"http://127.0.0.1:{port}/calendar/walks.ics", timeout=5) as answer:
            return bool(answer.read().startswith(b"BEGIN:VCALENDAR"))
    except OSError:
        return False


@pytest.fixture
def served(real_world: World, tmp_path: Path) -> Iterator[tuple[subprocess.Popen[str], int]]:
    port = free_port()
    Business.objects.update(is_demonstration=True)
    process = start(tmp_path, "serve", PORT=str(port))
    try:
        wait_until(lambda: answers(port))
        yield process, port
    finally:
        if process.poll() is None:
            end(process)


def alive(pid: int) -> bool:
    """A process that ended and that nobody has asked after yet still has its row, as a zombie."""
    try:
        return Path(f"/proc/{pid}/stat").read_text("ascii").rpartition(")")[2].split()[0] != "Z"
    except (FileNotFoundError, ProcessLookupError):
        return False


@pytest.mark.parametrize("by", [signal.SIGTERM, signal.SIGINT])
def test_stops_both_in_good_order(served: tuple[subprocess.Popen[str], int], by: signal.Signals) -> None:
    process, port = served
    children = children_of(process.pid)
    assert set(children) == {"web server", "worker"}
    code, said = end(process, by)
    assert code == 0, said
    assert not answers(port)
    assert not any(alive(one) for one in children.values())
    assert "Foraywright is at https://walks.example.org" in said
    assert "Staff sign in at /accounts/login/" in said


@pytest.mark.parametrize("which", ["web server", "worker"])
def test_one_that_is_killed_is_started_again(served: tuple[subprocess.Popen[str], int], which: str) -> None:
    process, port = served
    before = children_of(process.pid)
    left_behind = children_of(before[which])
    subprocess.run(["kill", "-9", str(before[which])], check=True)
    wait_until(lambda: children_of(process.pid).get(which, before[which]) != before[which])
    wait_until(lambda: answers(port))
    wait_until(lambda: not any(alive(one) for one in [before[which], *left_behind.values()]))
    assert len(children_of(process.pid)) == 2
    code, said = end(process)
    assert code == 0
    assert f"The {which} stopped by itself and is started again" in said


def test_one_that_ends_at_its_start_takes_the_other_with_it(real_world: World, tmp_path: Path) -> None:
    port = free_port()
    process = start(tmp_path, "serve", PORT=str(port))
    wait_until(lambda: len(children_of(process.pid)) == 2)
    children = children_of(process.pid)
    subprocess.run(["kill", "-SEGV", str(children["worker"])], check=True)
    said, _ = process.communicate(timeout=60)
    assert process.returncode == 1
    assert "The worker stopped by itself" in said
    assert not answers(port)
    assert not any(alive(one) for one in children.values())


def test_a_taken_port_is_told_before_anything_starts() -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = str(taken.getsockname()[1])
        with pytest.raises(CommandError, match=f"^Port {port} cannot be used: .*, e.g. PORT=8010 make run.$"):
            refuse_taken(port)


def test_logins_of_the_demo_are_told_from_its_file(tmp_path: Path) -> None:
    file = tmp_path / "logins.toml"
    assert login_lines(file) == []
    file.write_text('[[login]]\nname = "ann"\nrole = "office"\npassword = "apples"\n')
    assert [line.split() for line in login_lines(file)] == [["ann", "office", "apples"]]
