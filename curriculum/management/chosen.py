"""The accounts that a command looks at: those in use, or the files that ship with the program."""

from __future__ import annotations

from django.core.management.base import CommandError, CommandParser

from curriculum.compute.account import Account
from curriculum.compute.account_format import AccountRefused, read_account
from curriculum.compute.problems import Problem
from curriculum.queries import accounts_in_use, vocabulary
from curriculum.services.load_starter import STARTER


def add_choice(parser: CommandParser) -> None:
    """Let the command be asked for the files instead."""
    parser.add_argument("--starter", action="store_true", help="the files that ship instead of the accounts in use")


def chosen_accounts(*, starter: bool) -> dict[str, Account]:
    """The accounts by taxon. CommandError with every fault where a file is no account."""
    if not starter:
        return {key: one.account for key, one in accounts_in_use().items()}
    accounts: dict[str, Account] = {}
    faults: list[Problem] = []
    for file in sorted(STARTER.glob("*.toml")):
        try:
            account = read_account(file.read_text(encoding="utf-8"), file.name, vocabulary())
        except AccountRefused as refused:
            faults += refused.problems
        else:
            accounts[account.taxon] = account
    if faults:
        raise CommandError("\n".join(["Nothing was looked at: files are no accounts.", *map(str, faults)]))
    return accounts
