"""The program in processes of its own, on the database of the test."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

from django.conf import settings
from django.db import connection


def environment(folder: Path, **more: str) -> dict[str, str]:
    """What a kitchen-table start reads, pointed at the database of the test."""
    return os.environ | {
        "DJANGO_SETTINGS_MODULE": "foraywright.settings.local",
        "DATABASE_URL": database_url(),
        "SECRET_KEY": settings.SECRET_KEY,
        "VAR_DIR": str(folder),
        "SITE_ADDRESS": settings.SITE_ADDRESS,
        **more,
    }


def database_url() -> str:
    of = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{of['NAME']}"
    secret = f":{of['PASSWORD']}" if of["PASSWORD"] else ""
    return f"postgres://{of['USER']}{secret}@{of['HOST']}:{of['PORT'] or 5432}/{of['NAME']}"


def start(folder: Path, *words: str, **more: str) -> subprocess.Popen[str]:
    """Start `manage.py words`."""
    command = [sys.executable, "manage.py", *words]
    return subprocess.Popen(
        command,
        cwd=settings.BASE_DIR,
        env=environment(folder, **more),
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )


def end(process: subprocess.Popen[str], by: signal.Signals = signal.SIGTERM) -> tuple[int, str]:
    """Signal the process; return its exit code and what it said."""
    process.send_signal(by)
    said, _ = process.communicate(timeout=60)
    return process.returncode, said


def wait_until(true: Callable[[], object], seconds: float = 60) -> None:
    deadline = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < deadline, "waited in vain"
        time.sleep(0.05)


def free_port() -> int:
    with socket.socket() as any_port:
        any_port.bind(("127.0.0.1", 0))
        return int(any_port.getsockname()[1])


def children_of(pid: int) -> dict[str, int]:
    """Process ids of the two children by what they run."""
    listed = subprocess.run(["ps", "--ppid", str(pid), "-o", "pid=,args="], capture_output=True, text=True, check=False)
    lines = [line.split(maxsplit=1) for line in listed.stdout.splitlines()]
    return {"worker" if "manage.py work" in args else "web server": int(child) for child, args in lines}
