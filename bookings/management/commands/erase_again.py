"""`manage.py erase_again`: after a restore, erase what had been erased since the backup was made."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from bookings.services.erase import erase_again
from bookings.tombstones import path, tombstones


class Command(BaseCommand):
    """Reads the tombstones that stand beside the database. Run twice it changes nothing more."""

    help = "After a restore: erases again whoever had been erased since the backup. Run it before the site is opened."

    def handle(self, *args: Any, **options: Any) -> None:
        now = timezone.now()
        done = sum(erase_again(one, now=now) for one in list(tombstones()))
        self.stdout.write(f"{done} parties erased again, by {path()}.")
