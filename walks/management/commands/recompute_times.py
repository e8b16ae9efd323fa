"""Work the instants of walks to come out again, after a new time-zone database was installed."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from walks.compute.wall_time import WallTimeRefused
from walks.services.recompute_times import recompute_times


class Command(BaseCommand):
    help = "Recompute the UTC instants of walks to come from their wall times, and name those that moved."

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            moved = recompute_times(by="command", now=timezone.now())
        except WallTimeRefused as refused:
            raise CommandError(f"{refused} Nothing was changed.") from refused
        for walk in moved:
            self.stdout.write(f"{walk} now starts at {walk.starts_at:%Y-%m-%d %H:%M} UTC")
        self.stdout.write(f"{len(moved)} walks moved.")
