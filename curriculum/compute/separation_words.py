"""What separates two taxa, in words for a reader."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from curriculum.compute.account import UNKNOWN, Account, Missing, Value
from curriculum.compute.comparison import Beyond, Comparison
from curriculum.compute.separation import Separation, Verdict, visible
from curriculum.compute.value_words import measure, words
from curriculum.compute.vocabulary import Character, Vocabulary

SAID = {
    Verdict.SETTLED: "Settled: two or more independent features tell them apart. It says nothing of eating.",
    Verdict.THIN: "Thin: one feature alone tells them apart. Do not rely on it.",
    Verdict.UNSETTLED: "Not settled: no feature that counts tells them apart.",
}


def in_words(found: Separation, accounts: Mapping[str, Account], vocabulary: Vocabulary) -> Iterator[str]:
    """The whole pair, one line each: verdict, both ways, one way, what proves nothing, what is not known."""
    this, other = accounts[found.this], accounts[found.other]
    yield f"{this.vernacular()} ({this.accepted_name}) and {other.vernacular()} ({other.accepted_name})"
    yield SAID[found.verdict]
    for pair in found.stages:
        groups = ", ".join(pair.groups) or "none"
        yield f"  {pair.this_stage} and {pair.other_stage}: {pair.verdict} ({groups})"
    yield "Both ways:"
    yield from (_both_ways(row, found, this, other, vocabulary) for row in found.both_ways)
    yield "One way (any other value proves nothing):"
    yield from (line for row in found.one_way for line in _one_way(row, found, this, other, vocabulary))
    yield f"No help: {_labels(found.overlaps, vocabulary)}"
    yield f"Not recorded: {_unknown(found, this, other, vocabulary)}"
    yield f"Not to be compared: {_labels(found.not_comparable, vocabulary)}"


def value_in_words(value: Value, character: Character) -> str:
    """A value in words, missing ones too."""
    if isinstance(value, Missing):
        return "not known" if value is UNKNOWN else "has none"
    return words(value, character)


def _both_ways(row: Comparison, found: Separation, this: Account, other: Account, vocabulary: Vocabulary) -> str:
    character = vocabulary.characters[row.character]
    ours, theirs = value_in_words(row.this, character), value_in_words(row.other, character)
    counts = character.evidence_group in found.groups and visible(character)
    return f"  {character.label}: {this.vernacular()} {ours}; {other.vernacular()} {theirs}{_aside(counts)}"


def _one_way(
    row: Comparison, found: Separation, this: Account, other: Account, vocabulary: Vocabulary
) -> Iterator[str]:
    character = vocabulary.characters[row.character]
    for values, excluded in ((row.excludes_other, other), (row.excludes_this, this)):
        if values:
            danger = ", which harms" if excluded.taxon in found.dangerous else ""
            said = f"{beyond_in_words(values, character)} is not {excluded.vernacular()}{danger}"
            yield f"  {character.label}: {said}{_aside(visible(character))}"


def _aside(counts: bool) -> str:
    return "" if counts else " (does not count)"


def beyond_in_words(values: Beyond, character: Character) -> str:
    if isinstance(values, frozenset):
        return words(values, character)
    return " or ".join(measure(one.low, one.high) for one in values)


def _unknown(found: Separation, this: Account, other: Account, vocabulary: Vocabulary) -> str:
    names = {"this": this.vernacular(), "other": other.vernacular()}
    told = (
        f"{vocabulary.characters[row.character].label} ({', '.join(names[side] for side in row.unknown_sides)})"
        for row in found.unknown
    )
    return "; ".join(told) or "nothing"


def _labels(rows: tuple[Comparison, ...], vocabulary: Vocabulary) -> str:
    return "; ".join(vocabulary.characters[row.character].label for row in rows) or "nothing"
