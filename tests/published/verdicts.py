"""What official lists say of a species, held against the starter accounts."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path

from curriculum.compute.account import Account, Interval
from curriculum.compute.account_format import read_account
from curriculum.compute.vocabulary import Vocabulary, vocabulary_from

CURRICULUM = Path(__file__).parents[2] / "curriculum"
AS_OURS = {
    "edible": "choice",
    "fit for trade": "choice",
    "edible only cooked": "edible_with_care",
    "not recommended": "not_recommended",
    "poisonous": "poisonous",
    "deadly": "deadly",
}
COOKED = {"cook_through", "raw_toxicity"}
ABOUT_EATING = re.compile("edib|verdict|eat|poison|deadly|strength")


@cache
def _words() -> Vocabulary:
    files = sorted((CURRICULUM / "vocabulary").glob("*.toml"))
    return vocabulary_from(tomllib.loads(file.read_text(encoding="utf-8")) for file in files)


@cache
def _by_name() -> Mapping[str, Account]:
    files = sorted((CURRICULUM / "starter").glob("*.toml"))
    accounts = [read_account(file.read_text(encoding="utf-8"), file.name, _words()) for file in files]
    return {name.name: one for one in accounts for name in one.names if name.kind != "vernacular"}


def eating(species: str, says: str) -> str:
    """How our verdict stands to the list's: "as cautious", "more cautious, explained", or a fault.

    A list that says "poisonous" without a grade does not contradict "deadly".
    Our "choice" is said as "good to eat, cooked", so with the caveat to cook it through it is "edible only cooked".
    """
    account = _by_name()[species]
    ours, theirs = _rank(account.edibility), _rank(AS_OURS[says])
    if says == "edible only cooked" and COOKED & {one.kind for one in account.caveats}:
        theirs = min(theirs, ours)
    if ours < theirs:
        return f"milder: {account.edibility}"
    if ours <= max(theirs, _rank("edible_with_care")) or theirs >= _rank("poisonous"):
        return "as cautious"
    explained = any(ABOUT_EATING.search(line.casefold()) for line in account.disagreements)
    return "more cautious, explained" if explained else f"more cautious, not explained: {account.edibility}"


def _rank(edibility: str) -> int:
    return _words().terms["edibility"][edibility].rank


def onset_covered(species: list[str], hours: list[float]) -> list[str]:
    """The species of which our recorded onset reaches as far as the published one, at both ends."""
    return [name for name in species if _reaches(_by_name()[name], *hours)]


def _reaches(account: Account, low: float, high: float) -> bool:
    ours = account.toxicology.onset_hours if account.toxicology else None
    return isinstance(ours, Interval) and ours.low <= low and high <= ours.high
