"""Write the pack of one walk to a folder."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from bookings.walk_pack import NoPack, pack, walk_named, write_pack


class Command(BaseCommand):
    help = "Write handouts.pdf, risk-assessment.pdf, register.pdf and walk.ics of a walk to a folder: all, or none."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("walk", help="public id of a walk or offering, or its slug, e.g. the-bare-wood-2026-10-03")
        parser.add_argument("--out", type=Path, required=True, help="folder to write to; made where it does not exist")

    def handle(self, *args: Any, walk: str, out: Path, **options: Any) -> None:
        now = timezone.now()
        try:
            written = write_pack(pack(walk_named(walk, now=now), now=now), out)
        except NoPack as refused:
            raise CommandError(refused.sentence) from refused
        for file in written:
            self.stdout.write(f"{file} ({file.stat().st_size:,} bytes)")
