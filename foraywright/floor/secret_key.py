"""The generated keys of a local installation."""

import os
from pathlib import Path
from secrets import token_urlsafe

from cryptography.fernet import Fernet


def write_secret_key(path: Path) -> None:
    """Write a new random key to `path`, readable by its owner alone; an existing one is left as it is."""
    _write_once(path, token_urlsafe(64))


def write_sealing_key(path: Path) -> None:
    """Write the first key that seals health answers to `path`, likewise. Without it they can never be read again."""
    _write_once(path, Fernet.generate_key().decode("ascii"))


def is_sealing_key(key: str) -> bool:
    """Whether `key` has the form of a sealing key."""
    try:
        Fernet(key)
    except ValueError:
        return False
    return True


def _write_once(path: Path, key: str) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    try:
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        return
    with os.fdopen(handle, "w", encoding="ascii") as file:
        file.write(key + "\n")
