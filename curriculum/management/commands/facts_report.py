"""Say how much of the accounts is recorded, and what stands without a source."""

from collections.abc import Iterator
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from curriculum.compute.coverage import WANTED, Coverage, coverage
from curriculum.management.chosen import add_choice, chosen_accounts
from curriculum.queries import vocabulary


class Command(BaseCommand):
    help = "Report how much of each account is coded, what is unknown, unsourced, or from memory."

    def add_arguments(self, parser: CommandParser) -> None:
        add_choice(parser)
        parser.add_argument(
            "--strict", action="store_true", help="fail where a taught or deadly account falls short or lacks a source"
        )

    def handle(self, *args: Any, starter: bool, strict: bool, **options: Any) -> None:
        found = [coverage(one, vocabulary()) for one in chosen_accounts(starter=starter).values()]
        for line in _lines(found):
            self.stdout.write(line)
        short = sum(one.falls_short for one in found)
        unsourced = sum(len(one.unsourced) for one in found)
        if strict and (short or unsourced):
            raise CommandError(f"{short} accounts are coded too little, {unsourced} safety groups have no source.")


def _lines(found: list[Coverage]) -> Iterator[str]:
    yield f"{'account':44}{'coded':>7}{'of':>5}{'share':>7}{'unknown':>9}{'silent':>8}{'unsourced':>11}{'memory':>8}"
    yield from (_line(one) for one in sorted(found, key=lambda one: (not one.falls_short, one.share, one.taxon)))
    demanding = [one for one in found if one.demanding]
    short = [one for one in demanding if one.falls_short]
    yield f"{len(found)} accounts, {len(demanding)} of them taught or deadly; {len(short)} of those below {WANTED:.0%},"
    yield f"and {sum(one.told < WANTED for one in demanding)} where what is named unknown counts as told."
    coded, unknown, silent = (_total(found, name) for name in ("coded", "named_unknown", "silent"))
    yield f"Characters coded: {coded}, named unknown: {unknown}, silent: {silent}."
    yield "Words of the facts that map to no state: 0. The reader refuses an account with a word that the vocabulary"
    yield f"does not hold, and it took all {len(found)}."
    yield f"Safety groups without a source: {_total(found, 'unsourced')}."
    yield from (f"  {one.taxon}: {', '.join(one.unsourced)}" for one in found if one.unsourced)
    yield f"Safety groups of which no cited source was read: {_total(found, 'not_read')}."
    yield from (f"  {one.taxon}: {', '.join(one.not_read)}" for one in found if one.not_read)
    with_memory = sum(bool(one.from_memory) for one in found)
    yield f"Facts from memory: {_total(found, 'from_memory')}, in {with_memory} accounts."


def _line(one: Coverage) -> str:
    mark = "  below" if one.falls_short else ""
    return (
        f"{one.taxon:44}{len(one.coded):>7}{one.applying:>5}{one.share:>7.0%}{len(one.named_unknown):>9}"
        f"{len(one.silent):>8}{len(one.unsourced):>11}{len(one.from_memory):>8}{mark}"
    )


def _total(found: list[Coverage], name: str) -> int:
    return sum(len(getattr(one, name)) for one in found)
