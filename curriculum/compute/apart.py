"""What a sheet prints of a pair: each thing to look at, how it is here and there, and whether it settles the pair.

Whether it settles is computed from the two accounts (separation.py), never taken from the written advice. A reader is
not sure of the stage, so values of every age count. It must not be taken for "safe": settled says nothing of eating.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from curriculum.compute.account import Account, Separator
from curriculum.compute.comparison import Comparison, Outcome
from curriculum.compute.separation import Separation, Verdict, separate, visible
from curriculum.compute.separation_words import beyond_in_words, value_in_words
from curriculum.compute.vocabulary import Vocabulary

MOST_COMPUTED, ENOUGH = 3, 2

VERDICTS = {
    Verdict.SETTLED: "Two or more independent features tell them apart, at every age.",
    Verdict.THIN: "One feature alone tells them apart at every age: do not rely on it.",
    Verdict.UNSETTLED: "Nothing recorded tells them apart at every age: treat the one as the other.",
}

SHORT = {
    Verdict.SETTLED: "Two or more features tell them apart.",
    Verdict.THIN: "One feature alone: do not rely on it.",
    Verdict.UNSETTLED: "Not told apart: treat the one as the other.",
}
"""The verdicts again, for large print."""


@dataclass(frozen=True, slots=True)
class ApartRow:
    """One thing to look at: a character and its evidence group.

    `settles`: "both ways", "one way: …", "no: …" or why it does not count.
    """

    character: str
    evidence: str
    label: str
    here: str
    there: str
    settles: str

    @property
    def helps(self) -> bool:
        """Whether it tells a reader anything: both ways, or one way."""
        return self.settles.startswith(("both", "one"))

    @property
    def is_both_ways(self) -> bool:
        """Whether it settles the pair whichever of the two is in the hand."""
        return self.settles.startswith("both")


@dataclass(frozen=True, slots=True)
class Apart:
    """A pair as a sheet prints it: the verdict in a sentence and in short, and the rows, written advice first."""

    verdict: str
    short: str
    rows: tuple[ApartRow, ...]

    @property
    def core(self) -> tuple[ApartRow, ...]:
        """Of what settles it both ways the first two that are independent: the least that a sheet may print."""
        by_group = {row.evidence: row for row in reversed(self.rows) if row.is_both_ways}
        return tuple(row for row in self.rows if by_group.get(row.evidence) is row)[:ENOUGH]


def apart(this: Account, other: Account, written: tuple[Separator, ...], vocabulary: Vocabulary) -> Apart:
    """The pair for the sheet of `this`: its written separators with what each settles, and what else does."""
    found = separate(this, other, vocabulary)
    by_key = {row.character: row for row in _all(found)}
    rows = [_written(one, by_key.get(one.character), found, other, vocabulary) for one in written]
    told = {one.character for one in written}
    more = [row for row in found.both_ways if row.character not in told and _counts(row, found, vocabulary)]
    rows += [_computed(row, vocabulary) for row in more[:MOST_COMPUTED]]
    return Apart(VERDICTS[found.verdict], SHORT[found.verdict], tuple(rows))


def _all(found: Separation) -> Iterator[Comparison]:
    yield from found.both_ways
    yield from found.one_way
    yield from found.overlaps
    yield from found.unknown
    yield from found.not_comparable


def _written(
    one: Separator, row: Comparison | None, found: Separation, other: Account, vocabulary: Vocabulary
) -> ApartRow:
    character = vocabulary.characters.get(one.character)
    label = character.label if character else one.character
    evidence = character.evidence_group if character else one.character
    return ApartRow(one.character, evidence, label, one.this, one.other, _settles(row, found, other, vocabulary))


def _computed(row: Comparison, vocabulary: Vocabulary) -> ApartRow:
    character = vocabulary.characters[row.character]
    here, there = value_in_words(row.this, character), value_in_words(row.other, character)
    return ApartRow(row.character, character.evidence_group, character.label, here, there, "both ways")


def _settles(row: Comparison | None, found: Separation, other: Account, vocabulary: Vocabulary) -> str:
    if row is None or row.outcome in (Outcome.UNKNOWN, Outcome.NOT_COMPARABLE):
        return "not by what is recorded"
    if row.outcome is Outcome.OVERLAPS:
        return "no: they can be alike"
    if not _counts(row, found, vocabulary):
        return "never by itself"
    if row.outcome is Outcome.BOTH_WAYS:
        return "both ways"
    return _one_way(row, other, vocabulary)


def _one_way(row: Comparison, other: Account, vocabulary: Vocabulary) -> str:
    """Only what rules the other out helps a reader who holds this one in the hand."""
    if not row.excludes_other:
        return "no: it may look like this one"
    values = beyond_in_words(row.excludes_other, vocabulary.characters[row.character])
    return f"one way: {values} is not {other.vernacular()}; anything else proves nothing"


def _counts(row: Comparison, found: Separation, vocabulary: Vocabulary) -> bool:
    """Whether the character may count at all: seen in the field, and its evidence not shut out against a deadly one."""
    character = vocabulary.characters[row.character]
    return visible(character) and character.counts and character.evidence_group not in found.not_counted
