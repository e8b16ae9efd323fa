"""Load the species accounts that ship with the program, or those of another folder."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from curriculum.errors import FilesRefused
from curriculum.services.load_starter import STARTER, load_starter


class Command(BaseCommand):
    help = "Load species accounts (TOML, one file each) as drafts. Loading again writes nothing."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--folder", type=Path, default=STARTER, help="folder with the account files")

    def handle(self, *args: Any, folder: Path, **options: Any) -> None:
        try:
            loaded = load_starter(folder, by="command", now=timezone.now())
        except FilesRefused as refused:
            raise CommandError("\n".join([refused.happened, *refused.why, refused.became, refused.now])) from refused
        self.stdout.write(f"{loaded.new} accounts loaded, {loaded.unchanged} were there already.")
