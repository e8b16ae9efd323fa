"""Bring accounts from outside: TOML as drafts, a DELTA data set as a report of what it says otherwise."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from curriculum.compute.exchange.delta_comparison import DeltaComparison, compare_delta
from curriculum.compute.exchange.delta_reader import DeltaRefused, read_delta
from curriculum.compute.separation_words import value_in_words
from curriculum.errors import FilesRefused
from curriculum.queries import accounts_in_use, vocabulary
from curriculum.services.import_accounts import import_accounts
from foraywright.floor.models import User

DELTA_FILES = ("chars", "specs", "items")


class Command(BaseCommand):
    help = (
        "Take account files (TOML) as drafts, all or none; or compare a folder with the DELTA files chars, specs and "
        "items with the accounts in use, which writes nothing."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("path", type=Path, metavar="FILE", help="a .toml file, a folder of them, or a DELTA folder")
        parser.add_argument("--by", metavar="USER", help="the login of whoever brings the accounts (TOML only)")

    def handle(self, *args: Any, path: Path, by: str | None, **options: Any) -> None:
        lines = _compared(path) if all((path / name).is_file() for name in DELTA_FILES) else _taken(path, by)
        for line in lines:
            self.stdout.write(line)


def _taken(path: Path, by: str | None) -> Iterator[str]:
    files = sorted(path.glob("*.toml")) if path.is_dir() else [path]
    if not files or any(file.suffix != ".toml" or not file.is_file() for file in files):
        raise CommandError(f"Nothing was taken: {path} is no .toml file, nor a folder of them or of DELTA files.")
    author = User.objects.filter(username=by or "", is_active=True).first()
    if author is None:
        raise CommandError("Nothing was taken: name with --by the login of whoever brings the accounts.")
    texts = {file.name: file.read_text(encoding="utf-8") for file in files}
    try:
        done = import_accounts(texts, by=author, now=timezone.now())
    except FilesRefused as refused:
        raise CommandError("\n".join([refused.happened, *refused.why, refused.became, refused.now])) from refused
    yield f"Drafts written: {len(done.written)}. Already there: {len(done.unchanged)}."
    yield from (f"  {taxon}" for taxon in done.written)


def _compared(folder: Path) -> Iterator[str]:
    accounts = {key: one.account for key, one in accounts_in_use().items()}
    try:
        data = read_delta(*((folder / name).read_text(encoding="utf-8") for name in DELTA_FILES))
        found = compare_delta(data, accounts, vocabulary())
    except DeltaRefused as refused:
        raise CommandError(f"Nothing was compared: {refused}") from refused
    return _report(found)


def _report(found: DeltaComparison) -> Iterator[str]:
    yield f"{found.compared} values compared, {len(found.differences)} differ. Nothing was written."
    for one in found.differences:
        character = vocabulary().characters[one.character]
        ours, theirs = value_in_words(one.ours, character), value_in_words(one.theirs, character)
        yield f"  {one.taxon}, {one.stage}, {character.label}: here {ours}; there {theirs}"
    if found.unmatched:
        yield f"Not matched: {', '.join(found.unmatched)}."
