"""All accounts as files to take away, in one of three forms."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence

from curriculum.compute.account import Account
from curriculum.compute.account_text import account_text
from curriculum.compute.exchange.delta import delta_texts
from curriculum.compute.exchange.table import character_table
from curriculum.compute.vocabulary import GROUPS, Vocabulary

_BYTE_ORDER_MARK = "\ufeff"  # without it the common spreadsheets take UTF-8 for something else


def exported(form: str, accounts: Sequence[Account], vocabulary: Vocabulary) -> dict[str, str]:
    """Text by path, in the form "delta", "csv" or "toml". KeyError for any other."""
    return dict(FORMS[form](accounts, vocabulary))


def _delta(accounts: Sequence[Account], vocabulary: Vocabulary) -> Iterator[tuple[str, str]]:
    for group in GROUPS:
        texts = delta_texts(accounts, group, vocabulary)
        yield from ((f"{group}/{name}", getattr(texts, name)) for name in ("chars", "specs", "items"))


def _csv(accounts: Sequence[Account], vocabulary: Vocabulary) -> Iterator[tuple[str, str]]:
    for group in GROUPS:
        yield f"{group}.csv", _BYTE_ORDER_MARK + character_table(accounts, group, vocabulary)


def _toml(accounts: Sequence[Account], vocabulary: Vocabulary) -> Iterator[tuple[str, str]]:
    for one in accounts:
        yield f"{one.taxon}.toml", account_text(one)


FORMS: Mapping[str, Callable[[Sequence[Account], Vocabulary], Iterator[tuple[str, str]]]] = {
    "delta": _delta,
    "csv": _csv,
    "toml": _toml,
}
