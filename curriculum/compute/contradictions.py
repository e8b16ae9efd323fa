"""What in the accounts contradicts itself: the marks that a slip of the pen leaves.

Definition (our rule; the proportions and the list of lethal syndromes are common practice, no source). An account is
contradictory where its role and its verdict disagree, where what harms has no poisoning or a lethal syndrome has a
milder verdict, where a lookalike that harms is named by one side only, where it says to look at what it does not
record, where parts are out of proportion, or where a figure in its own words lies outside its own range.
It must not be taken for a check of truth: an account may be wrong without contradicting itself.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from curriculum.compute.account import ALL, STAGES, Account, Interval, Lookalike
from curriculum.compute.separation import DEADLY, is_dangerous
from curriculum.compute.universe import names
from curriculum.compute.vocabulary import Vocabulary

LETHAL_SYNDROMES = frozenset(
    ["amatoxin", "orellanine", "gyromitrin", "paxillus", "encephalopathy", "cardiac_glycoside", "colchicine", "polyyne",
     "coniine", "aconitine", "taxine"]
)  # fmt: skip

NEVER_WIDER = (
    ("stem_width", "cap_width"),
    ("stem_width", "stem_length"),
    ("leaf_width", "leaf_length"),
    ("leaf_length", "plant_height"),
    ("frond_width", "frond_length"),
)
"""(part, whole): at its widest the part is smaller than the whole at its widest."""

MOST_TIMES = (("cap_width", "stem_width", 30), ("stem_length", "cap_width", 6), ("stem_length", "stem_width", 50))
"""(larger, smaller, n): at their widest the larger is at most n times the smaller."""

_UNITS = {"mm": 1, "cm": 10, "m": 1000}
_FIGURES = re.compile(r"(\d+(?:\.\d+)?)(?:\s*(?:to|-|–)\s*(\d+(?:\.\d+)?))?\s*(mm|cm|m)\b")


@dataclass(frozen=True, slots=True, order=True)
class Contradiction:
    """What disagrees in the account of `taxon`, in words."""

    taxon: str
    what: str


def contradictions(accounts: Mapping[str, Account], vocabulary: Vocabulary) -> tuple[Contradiction, ...]:
    """All that contradicts itself in the accounts, by taxon."""
    found = [
        Contradiction(one.taxon, what)
        for one in accounts.values()
        for check in (_verdict, _not_recorded, _proportions, _one_sided, _figures)
        for what in check(one, accounts, vocabulary)
    ]
    return tuple(sorted(found))


def widest(account: Account, character: str) -> Interval | None:
    """The range over all stages at which it is recorded; None where no stage has one."""
    values = [account.characters.get(stage, {}).get(character) for stage in (ALL, *STAGES)]
    ranges = [one for one in values if isinstance(one, Interval)]
    return Interval(min(one.low for one in ranges), max(one.high for one in ranges)) if ranges else None


def _verdict(one: Account, accounts: Mapping[str, Account], vocabulary: Vocabulary) -> Iterable[str]:
    if (one.role == "danger") != is_dangerous(one, vocabulary):
        yield f"the role is {one.role}, and the verdict is {vocabulary.label('edibility', one.edibility)}"
    poison = one.toxicology
    if is_dangerous(one, vocabulary) and not poison:
        yield "it harms, and no poisoning is described"
    if poison and poison.syndrome in LETHAL_SYNDROMES and one.edibility != DEADLY:
        label = vocabulary.label("syndrome", poison.syndrome)
        yield f"it causes {label}, and the verdict is {vocabulary.label('edibility', one.edibility)}"


def _not_recorded(one: Account, accounts: Mapping[str, Account], vocabulary: Vocabulary) -> Iterable[str]:
    for key in one.look_order:
        if not any(key in one.characters.get(stage, {}) for stage in (ALL, *STAGES)):
            yield f"it says to look at {vocabulary.characters[key].label}, and records nothing of it"


def _proportions(one: Account, accounts: Mapping[str, Account], vocabulary: Vocabulary) -> Iterable[str]:
    def label(key: str) -> str:
        return vocabulary.characters[key].label

    for part, whole in NEVER_WIDER:
        small, large = widest(one, part), widest(one, whole)
        if small and large and small.high >= large.high:
            yield f"{label(part)} is not below {label(whole)}"
    for larger, smaller, times in MOST_TIMES:
        large, small = widest(one, larger), widest(one, smaller)
        if small and large and large.high > times * small.high:
            yield f"{label(larger)} is more than {times} times {label(smaller)}"


def _one_sided(one: Account, accounts: Mapping[str, Account], vocabulary: Vocabulary) -> Iterable[str]:
    for named in one.lookalikes:
        other = accounts.get(named.taxon or "")
        harms = other and (is_dangerous(one, vocabulary) or is_dangerous(other, vocabulary))
        if other and harms and not names(other, one):
            yield f"it names {other.taxon} as a lookalike, and is not named in turn"


def _figures(one: Account, accounts: Mapping[str, Account], vocabulary: Vocabulary) -> Iterable[str]:
    for named in one.lookalikes:
        yield from _own_figures(one, named, vocabulary)
        other = accounts.get(named.taxon or "")
        for row in named.separators if other else ():
            yield from _outside(row.other, other, row.character, vocabulary)


def _own_figures(one: Account, named: Lookalike, vocabulary: Vocabulary) -> Iterable[str]:
    for row in named.separators:
        yield from _outside(row.this, one, row.character, vocabulary)


def _outside(text: str, account: Account | None, character: str, vocabulary: Vocabulary) -> Iterable[str]:
    """A sentence where a figure in the words lies outside the recorded range."""
    recorded = widest(account, character) if account else None
    if account is None or recorded is None:
        return
    if not all(recorded.low <= figure <= recorded.high for figure in _millimetres(text)):
        label = vocabulary.characters[character].label
        yield f'the words "{text}" leave the range of {account.taxon}, {label}'


def _millimetres(text: str) -> list[float]:
    return [
        float(figure) * _UNITS[unit]
        for low, high, unit in _FIGURES.findall(text)
        for figure in (low, high)
        if figure
    ]  # fmt: skip
