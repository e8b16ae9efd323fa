"""Say which taxa the accounts do not tell apart."""

import json
from collections.abc import Iterator, Mapping
from itertools import islice
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from curriculum.compute.account import Account
from curriculum.compute.audit import Audit, Cause, Check, PairFinding, audit
from curriculum.compute.problems import nearest
from curriculum.compute.separation import separate
from curriculum.compute.separation_words import in_words
from curriculum.management.chosen import add_choice, chosen_accounts
from curriculum.queries import vocabulary

WORST = 20


class Command(BaseCommand):
    help = "Audit all accounts for pairs that are not told apart; with two taxa, say in words what separates them."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("taxa", nargs="*", metavar="taxon", help="two taxa, such as pleurotus-ostreatus")
        parser.add_argument("--json", action="store_true", help="everything that was found, as JSON")
        add_choice(parser)

    def handle(self, *args: Any, taxa: list[str], starter: bool, **options: Any) -> None:
        accounts = chosen_accounts(starter=starter)
        if taxa:
            lines: Iterator[str] = _pair(taxa, accounts)
        elif options["json"]:
            lines = iter([json.dumps(audit(accounts, vocabulary()).as_json(), indent=1)])
        else:
            lines = _summary(audit(accounts, vocabulary()))
        for line in lines:
            self.stdout.write(line)


def _pair(taxa: list[str], accounts: Mapping[str, Account]) -> Iterator[str]:
    if len(taxa) != 2:
        raise CommandError("Nothing was compared: name two taxa, or none for the whole audit.")
    for one in taxa:
        if one not in accounts:
            raise CommandError(f"Nothing was compared: {one} has no account. Expected {nearest(one, accounts)}.")
    yield from in_words(separate(accounts[taxa[0]], accounts[taxa[1]], vocabulary()), accounts, vocabulary())


def _summary(found: Audit) -> Iterator[str]:
    ignorance, overlap = found.unsettled(Cause.IGNORANCE), found.unsettled(Cause.OVERLAP)
    excluded = ", ".join(f"{number} by {name}" for name, number in sorted(found.excluded.items())) or "none"
    yield f"{found.considered} pairs considered; excluded: {excluded}."
    yield f"{found.settled} settled, {len(found.thin)} thin, {len(ignorance)} unsettled because too little is recorded,"
    yield f"{len(overlap)} unsettled because they overlap, {len(found.without_account)} lookalikes without an account."
    counts = ", ".join(f"{len(found.separators_that_are(check))} {check}" for check in Check)
    yield f"Written separators: {counts}."
    yield f"{len(found.similar)} pairs alike and not listed, {len(found.too_little_known)} too little known to say."
    yield f"Worst pairs (of {len(found.pairs)} that are not settled):"
    yield from (f"  {_told(one)}" for one in islice(found.pairs, WORST))
    yield "Alike and not listed:"
    yield from (f"  {one.this}, {one.other}: {_share(one.score)} to {_share(one.high)}" for one in found.similar)
    yield "Contradictions:"
    yield from (f"  {one.taxon}: {one.what}" for one in found.contradictions)


def _told(one: PairFinding) -> str:
    listed = "listed" if one.named else "not listed"
    rests = f"rests on {', '.join(one.groups)}" if one.groups else "rests on nothing"
    return f"{one.verdict}, {one.danger}: {one.this}, {one.other} ({one.cause}, {listed}, {rests})"


def _share(value: float | None) -> str:
    return "nothing comparable" if value is None else f"{value:.2f}"
