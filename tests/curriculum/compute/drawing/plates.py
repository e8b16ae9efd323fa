"""Plates of the shipped accounts, drawn once, and accounts with a few characters changed."""

from dataclasses import replace
from functools import cache

from curriculum.compute.account import ALL, Account, Value
from curriculum.compute.drawing.plate import plate
from curriculum.compute.drawing.sheet import Plate
from tests.curriculum.compute.files import accounts, vocabulary


@cache
def drawn(taxon: str) -> Plate:
    return plate(accounts()[taxon], vocabulary())


def changed(taxon: str, **values: str | Value) -> Account:
    """The account with these characters set for every stage; a text is one state."""
    account = accounts()[taxon]
    kept = {
        stage: {key: value for key, value in given.items() if key not in values}
        for stage, given in account.characters.items()
    }
    kept.setdefault(ALL, {})
    kept[ALL] |= {key: frozenset([value]) if isinstance(value, str) else value for key, value in values.items()}
    return replace(account, characters=kept)
