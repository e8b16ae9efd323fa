"""Write all accounts to a folder: as a character table (DELTA or CSV), or whole (TOML)."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from curriculum.compute.exchange.exports import FORMS, exported
from curriculum.management.chosen import add_choice, chosen_accounts
from curriculum.queries import vocabulary


class Command(BaseCommand):
    help = "Export the accounts. DELTA and CSV hold the characters only; TOML holds everything."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--format", required=True, choices=sorted(FORMS))
        parser.add_argument(
            "--out", required=True, type=Path, metavar="DIR", help="a folder that is empty or not there"
        )
        add_choice(parser)

    def handle(self, *args: Any, format: str, out: Path, starter: bool, **options: Any) -> None:
        if out.exists() and (not out.is_dir() or any(out.iterdir())):
            raise CommandError(f"Nothing was written: {out} is not an empty folder. Name one that is.")
        accounts = list(chosen_accounts(starter=starter).values())
        files = exported(format, accounts, vocabulary())
        for path, text in files.items():
            (out / path).parent.mkdir(parents=True, exist_ok=True)
            (out / path).write_text(text, encoding="utf-8", newline="")
        self.stdout.write(f"{len(accounts)} accounts in {len(files)} files in {out}.")
