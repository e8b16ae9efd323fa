"""Load the demo season into an empty database."""

from datetime import UTC, date, datetime, time
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from bookings.demo import load_demo
from foraywright.floor.acts import act, record
from foraywright.floor.models import AuditLine, Business

DONE = "load demo"


class Command(BaseCommand):
    help = "Load the demo season around today. A database that holds a business already is left as it is."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--today", type=date.fromisoformat, help="the day that the season lies around, YYYY-MM-DD")

    def handle(self, *args: Any, today: date | None, **options: Any) -> None:
        business = Business.objects.first()
        if business is not None:
            self._left_alone(business)
            return
        now = timezone.now() if today is None else datetime.combine(today, time(8), tzinfo=UTC)
        load_demo(now=now, today=today or timezone.localdate(now))
        _note(now)
        self.stdout.write("The demo season is loaded.")

    def _left_alone(self, business: Business) -> None:
        if business.is_demonstration and not AuditLine.objects.filter(act=DONE).exists():
            raise CommandError(
                "The demo season was only partly loaded: an earlier start was interrupted. "
                "Delete the database (the folder var/ of a demo holds nothing else) and start again."
            )
        self.stdout.write(f"“{business.name}” is there already; nothing was loaded.")


@act
def _note(now: datetime) -> None:
    """The last thing written: without it the season is known to be incomplete."""
    record(DONE, Business.objects.get(), by="command", now=now)
