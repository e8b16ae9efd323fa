"""The whole site with one command: the web server and the worker, kept running, and stopped together."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
import tomllib
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from types import FrameType
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from foraywright.floor.models import Business

STOP_SECONDS = 30
WELL_SECONDS = 10
LOGINS = Path(__file__).resolve().parents[3] / "fixtures_demo" / "logins.toml"


class Child:
    """A process that is started again after something from outside ended it, as a machine does that lacks memory."""

    def __init__(self, name: str, command: Sequence[str]) -> None:
        self.name, self.command = name, command
        self.process, self.begun = _start(command), time.monotonic()

    @property
    def may_start_again(self) -> bool:
        """Whether it was killed, or had run well; whatever ends by itself at its start would do so again."""
        ran_well = time.monotonic() > self.begun + WELL_SECONDS
        return ran_well or self.process.returncode == -signal.SIGKILL

    def start(self) -> None:
        """Start it again, and end what it left behind: a killed web server leaves a child that keeps the port."""
        stop([self.process])
        self.process, self.begun = _start(self.command), time.monotonic()


class Command(BaseCommand):
    help = "Run the web server on PORT (8000) and the worker. Ctrl-C or SIGTERM stops both."

    stopping = False

    def handle(self, *args: Any, **options: Any) -> None:
        port = os.environ.get("PORT", "8000")
        refuse_taken(port)
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, self._stop)
        self._greet()
        worker = [sys.executable, "manage.py", "work", "--skip-checks"]
        children = [Child("web server", web_server(port)), Child("worker", worker)]
        try:
            died = self._watch(children)
        finally:
            stop([child.process for child in children])
        if died:
            raise CommandError(f"The {died} stopped by itself, so the rest was stopped too. Its last words are above.")

    def _stop(self, number: int, frame: FrameType | None) -> None:
        self.stopping = True

    def _watch(self, children: Sequence[Child]) -> str:
        """Wait for the word to stop; return the name of a child that cannot run, or an empty text."""
        while not self.stopping:
            for child in children:
                if child.process.poll() is not None and not self.stopping:
                    if not child.may_start_again:
                        return child.name
                    self.stderr.write(f"The {child.name} stopped by itself and is started again.")
                    child.start()
            time.sleep(0.2)
        return ""

    def _greet(self) -> None:
        self.stdout.write(f"Foraywright is at {settings.SITE_ADDRESS} (Ctrl-C stops it)")
        business = Business.objects.first()
        if business is not None and business.is_demonstration:
            self.stdout.write("Demonstration. Staff sign in at /accounts/login/:")
            self.stdout.write("\n".join(login_lines(LOGINS)))
        self.stdout.flush()


def refuse_taken(port: str) -> None:
    """Raise CommandError where another program has the port, or where it is none."""
    try:
        with socket.create_server(("127.0.0.1", int(port))):
            pass
    except (OSError, ValueError, OverflowError) as fault:
        raise CommandError(
            f"Port {port} cannot be used: {fault}. Stop what has it, or choose another one, e.g. PORT=8010 make run."
        ) from fault


def login_lines(file: Path) -> list[str]:
    """The accounts of the demo as lines: name, role, pass phrase; none where the file is missing."""
    if not file.exists():
        return []
    logins = tomllib.loads(file.read_text(encoding="utf-8"))["login"]
    return [f"  {one['name']:<10} {one['role']:<10} {one['password']}" for one in logins]


def web_server(port: str) -> list[str]:
    """The command line of the web server: one process, so that it stays small, with two threads."""
    where = ["--host", "127.0.0.1", "--port", port]
    how = ["--interface", "wsgi", "--workers", "1", "--blocking-threads", "2", "--log-level", "warning"]
    return [sys.executable, "-m", "granian", *where, *how, "foraywright.wsgi:application"]


def _start(command: Sequence[str]) -> subprocess.Popen[bytes]:
    """Start a child in a group of its own: Ctrl-C then reaches this process alone, which stops both in good order."""
    environment = os.environ | {"DJANGO_SETTINGS_MODULE": settings.SETTINGS_MODULE}
    return subprocess.Popen(command, cwd=settings.BASE_DIR, env=environment, process_group=0)


def stop(children: Sequence[subprocess.Popen[bytes]]) -> None:
    """Ask the children to finish what they have in hand; after half a minute end them and whatever they left behind."""
    for child in children:
        child.terminate()
    deadline = time.monotonic() + STOP_SECONDS
    for child in children:
        with suppress(subprocess.TimeoutExpired):
            child.wait(max(0.1, deadline - time.monotonic()))
        with suppress(ProcessLookupError):
            os.killpg(child.pid, signal.SIGKILL)
        child.wait()
