"""The shipped vocabulary and accounts, read from their files for the tests of the pure room."""

import tomllib
from functools import cache
from pathlib import Path
from typing import Any

from curriculum.compute.account import Account
from curriculum.compute.account_format import read_account
from curriculum.compute.vocabulary import Vocabulary, vocabulary_from

ROOM = Path(__file__).parents[3] / "curriculum"
STARTER = sorted((ROOM / "starter").glob("*.toml"))


@cache
def vocabulary() -> Vocabulary:
    files = sorted((ROOM / "vocabulary").glob("*.toml"))
    return vocabulary_from(tomllib.loads(file.read_text(encoding="utf-8")) for file in files)


def document(taxon: str) -> dict[str, Any]:
    """A fresh copy of a starter account as parsed TOML, to be spoilt by a test."""
    return tomllib.loads((ROOM / "starter" / f"{taxon}.toml").read_text(encoding="utf-8"))


@cache
def accounts() -> dict[str, Account]:
    read = (read_account(file.read_text(encoding="utf-8"), file.name, vocabulary()) for file in STARTER)
    return {one.taxon: one for one in read}
