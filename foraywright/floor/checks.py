"""System checks of the floor."""

from __future__ import annotations

import sqlite3
from typing import Any

from django.conf import settings
from django.core import checks
from django.db import connection


@checks.register(checks.Tags.database)
def sqlite_is_free_of_the_wal_fault(**_: Any) -> list[checks.CheckMessage]:
    """Warn where the SQLite library is in the range 3.7.0 to 3.51.2, in which two connections that write and
    checkpoint in the same moment can corrupt a WAL database (rare; fixed in 3.51.3)."""
    if connection.vendor != "sqlite" or sqlite3.sqlite_version_info >= (3, 51, 3):
        return []
    return [
        checks.Warning(
            f"SQLite {sqlite3.sqlite_version} has a rare fault that can corrupt a database in WAL mode.",
            hint="Use SQLite 3.51.3 or newer, or PostgreSQL (DATABASE_URL). Until then keep checked backups.",
            id="floor.W001",
        )
    ]


@checks.register(checks.Tags.security, deploy=True)
def card_provider_is_whole(**_: Any) -> list[checks.CheckMessage]:
    """A provider whose hosts are not named is blocked by our own policy at the moment of paying."""
    if not settings.CARD_PROVIDER or settings.CARD_PROVIDER_HOSTS:
        return []
    return [
        checks.Error(
            "CARD_PROVIDER is set and CARD_PROVIDER_HOSTS is not: browsers would refuse the way to the card page.",
            hint="Name the hosts of the provider's page, separated by commas.",
            id="floor.E001",
        )
    ]
