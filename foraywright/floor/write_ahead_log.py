"""SQLite's write-ahead log: it keeps pages as they were before something was erased, until it is emptied."""

from __future__ import annotations

from django.db import connection

PATIENCE = "PRAGMA busy_timeout = 2000"
"""Milliseconds to wait for others that read: writers wait meanwhile, so it is short; the next time comes."""


def empty_the_log() -> bool:
    """Carry what was committed into the database file and cut the log to nothing; whether the log is empty now.

    For the worker alone, outside a transaction: before SQLite 3.51.3 two connections that do this in the same moment
    can corrupt the file (floor.W001). PostgreSQL keeps a log of its own, which its server prunes.
    """
    if connection.vendor != "sqlite":
        return True
    usual = connection.settings_dict["OPTIONS"]["timeout"] * 1000
    with connection.cursor() as cursor:
        cursor.execute(PATIENCE)
        cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        busy = cursor.fetchone()[0]
        cursor.execute(f"PRAGMA busy_timeout = {usual}")
    return not busy
