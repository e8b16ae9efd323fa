"""Who was erased, in a file beside the database and outside its backups: a restore reads it and erases again."""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

from django.conf import settings


def path() -> Path:
    """Where the tombstones stand. Keep it, and keep it out of the backups of the database."""
    return Path(settings.VAR_DIR) / "erased.jsonl"


def set_tombstone(contact_id: str, *, now: datetime) -> None:
    """Write that the contact with this public id was erased, and be sure that it is on the disk."""
    line = json.dumps({"contact": contact_id, "at": now.isoformat()}) + "\n"
    handle = os.open(path(), os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
    with os.fdopen(handle, "w", encoding="ascii") as file:
        file.write(line)
        file.flush()
        os.fsync(file.fileno())


def tombstones() -> Iterator[str]:
    """The public ids of the contacts that were erased."""
    if path().exists():
        for line in path().read_text(encoding="ascii").splitlines():
            yield json.loads(line)["contact"]
