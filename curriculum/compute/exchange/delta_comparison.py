"""What a data set in DELTA says otherwise than the accounts.

Characters, states and taxa are matched by our keys in the comments (<key ...>); what has no key, or one that we do not
know, is named and compared with nothing. Nothing is taken over: a difference is for a person to judge.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from curriculum.compute.account import ALL, STAGES, UNKNOWN, Account, Interval, Missing, Value
from curriculum.compute.exchange.delta_reader import Coded, DeltaCharacter, DeltaData, DeltaItem, DeltaRefused
from curriculum.compute.vocabulary import Vocabulary


@dataclass(frozen=True, slots=True)
class Difference:
    """One value that differs: of which taxon, at which stage, of which character, ours and theirs."""

    taxon: str
    stage: str
    character: str
    ours: Value
    theirs: Value


@dataclass(frozen=True, slots=True)
class DeltaComparison:
    """How many values were compared, which differ, and what could not be matched, in words."""

    compared: int
    differences: tuple[Difference, ...]
    unmatched: tuple[str, ...]


def compare_delta(data: DeltaData, accounts: Mapping[str, Account], vocabulary: Vocabulary) -> DeltaComparison:
    """The data set against the accounts, by taxon."""
    matched = {number: key for number, one in data.characters.items() if (key := _key(one.feature)) is not None}
    known = {number: key for number, key in matched.items() if key in vocabulary.characters}
    unmatched = [f"character {number}" for number in data.characters if number not in known]
    compared, found = 0, []
    for item in data.items:
        taxon, stage = _taxon_and_stage(item)
        if taxon not in accounts:
            unmatched.append(f"item {item.name}")
            continue
        rows = [row for row in _rows(item, data, known) if row[0] in vocabulary.characters_of(accounts[taxon].group)]
        compared += len(rows)
        ours = accounts[taxon].characters.get(stage, {})
        found += [
            Difference(taxon, stage, key, ours.get(key, UNKNOWN), value)
            for key, value in rows
            if ours.get(key, UNKNOWN) != value
        ]
    return DeltaComparison(compared, tuple(found), tuple(unmatched))


def characters_of(data: DeltaData) -> dict[str, dict[str, dict[str, Value]]]:
    """All values by taxon, stage and character, as an account holds them; unknown ones are left out."""
    keys = {number: key for number, one in data.characters.items() if (key := _key(one.feature)) is not None}
    found: dict[str, dict[str, dict[str, Value]]] = {}
    for item in data.items:
        taxon, stage = _taxon_and_stage(item)
        values = {key: value for key, value in _rows(item, data, keys) if value is not UNKNOWN}
        found.setdefault(taxon, {})[stage] = values
    return found


def _rows(item: DeltaItem, data: DeltaData, keys: Mapping[int, str]) -> Iterator[tuple[str, Value]]:
    for number, coded in item.values.items():
        if number in keys:
            yield keys[number], _value(coded, data.characters[number])


def _value(coded: Coded, character: DeltaCharacter) -> Value:
    if isinstance(coded, Interval | Missing):
        return coded
    return frozenset(_state(character, state) for state in coded)


def _state(character: DeltaCharacter, number: int) -> str:
    key = _key(character.states[number])
    if key is None:
        raise DeltaRefused(f"State {number} of character {character.number} has no key.")
    return key


def _key(text: str) -> str | None:
    found = re.search(r"<key ([^<>\s]+)>", text)
    return found[1] if found else None


def _taxon_and_stage(item: DeltaItem) -> tuple[str, str]:
    """Key of the taxon ("" where the item has none) and the stage."""
    found = re.search(r"<key ([^<>\s]+)(?: ([^<>\s]+))?>", item.name)
    if found is None or (found[2] or ALL) not in (ALL, *STAGES):
        return "", ALL
    return found[1], found[2] or ALL
