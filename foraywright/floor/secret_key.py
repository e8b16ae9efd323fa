"""The generated secret key of a local installation."""

import os
from pathlib import Path
from secrets import token_urlsafe


def write_secret_key(path: Path) -> None:
    """Write a new random key to `path`, readable by its owner alone; an existing one is left as it is."""
    path.parent.mkdir(parents=True, exist_ok=True)
    try:
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        return
    with os.fdopen(handle, "w", encoding="ascii") as file:
        file.write(token_urlsafe(64) + "\n")
