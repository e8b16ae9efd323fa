"""Whether two taxa can be told apart in the field, and by what.

Definition (our rule). For every pair of stages that may be met together ("stage not sure" included) n is the number of
evidence groups that hold a disjoint character visible in the field. n of 2 or more is settled, 1 is thin, 0 unsettled;
the verdict of a pair is its worst. Characters of one evidence group are one piece of evidence. Smell, taste, season and
what takes overnight never count. Habitat, wood and host are one group, and none at all where either taxon is deadly.
What separates one way only never adds to a verdict.
Range: settled, thin, unsettled. Symmetric. Less knowledge never improves it.
It must not be taken for a statement about eating: "settled" says nothing of edibility, and nothing of a reader's care.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum

from curriculum.compute.account import ALL, STAGES, Account, Value
from curriculum.compute.comparison import Comparison, Outcome, compare, disjoint
from curriculum.compute.vocabulary import Character, Vocabulary

SETTLED_FROM = 2
FIELD_EFFORTS = ("glance", "hand", "cut")
HABITAT_GROUP = "habitat"
DEADLY = "deadly"


class Verdict(StrEnum):
    """How well a pair is told apart, best first."""

    SETTLED = "settled"
    THIN = "thin"
    UNSETTLED = "unsettled"


@dataclass(frozen=True, slots=True)
class StagePair:
    """The verdict where the one is met at `this_stage` and the other at `other_stage` ("all" is stage not sure)."""

    this_stage: str
    other_stage: str
    verdict: Verdict
    groups: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Separation:
    """All that a sheet says about a pair, in reading order, for readers who are not sure of the stage.

    `groups` are the evidence groups that count; `not_counted` those that hold a disjoint character and yet do not count
    (habitat against a deadly taxon). `dangerous` names which of the two taxa harm.
    """

    this: str
    other: str
    verdict: Verdict
    groups: tuple[str, ...]
    not_counted: tuple[str, ...]
    dangerous: tuple[str, ...]
    both_ways: tuple[Comparison, ...]
    one_way: tuple[Comparison, ...]
    overlaps: tuple[Comparison, ...]
    unknown: tuple[Comparison, ...]
    not_comparable: tuple[Comparison, ...]
    stages: tuple[StagePair, ...]

    def excludes_danger(self, comparison: Comparison) -> bool:
        """Whether a character helps a reader one way: some of its values exclude a taxon that harms."""
        out = ((self.other, comparison.excludes_other), (self.this, comparison.excludes_this))
        return any(taxon in self.dangerous and bool(values) for taxon, values in out)


def separate(this: Account, other: Account, vocabulary: Vocabulary) -> Separation:
    """What tells the two taxa apart. Danger is read from the two accounts."""
    characters = shared_characters(this, other, vocabulary)
    deadly = DEADLY in (this.edibility, other.edibility)
    stages = tuple(_stage_pairs(this, other, characters, deadly))
    rows = [compare(this.value(one.key), other.value(one.key), one) for one in _in_reading_order(this, characters)]
    held = _groups_held(rows, vocabulary)
    counted = counting(held, deadly=deadly)
    dangerous = tuple(one.taxon for one in (this, other) if is_dangerous(one, vocabulary))
    rows.sort(key=lambda row: not _seen_in_field(row, vocabulary))
    return Separation(
        this=this.taxon,
        other=other.taxon,
        verdict=worst(pair.verdict for pair in stages),
        groups=tuple(sorted(counted)),
        not_counted=tuple(sorted(held - counted)),
        dangerous=dangerous,
        stages=stages,
        **{outcome.value: tuple(row for row in rows if row.outcome is outcome) for outcome in Outcome},
    )


def visible(character: Character) -> bool:
    """Whether the character may count: it is seen, felt or cut on the spot, and is no smell or taste."""
    return character.counts and character.effort in FIELD_EFFORTS


def is_dangerous(account: Account, vocabulary: Vocabulary) -> bool:
    """Whether the taxon is poisonous or deadly."""
    return vocabulary.terms["edibility"][account.edibility].danger


def shared_characters(this: Account, other: Account, vocabulary: Vocabulary) -> tuple[Character, ...]:
    """The characters that apply to both, in the order of the vocabulary."""
    both = {this.group, other.group}
    return tuple(one for one in vocabulary.characters.values() if both <= one.groups)


def settling_groups(
    this: Mapping[str, Value], other: Mapping[str, Value], characters: Iterable[Character]
) -> frozenset[str]:
    """The evidence groups that hold a disjoint character visible in the field; values by key of the character."""
    return frozenset(
        one.evidence_group
        for one in characters
        if visible(one) and disjoint(this[one.key], other[one.key], one)
    )  # fmt: skip


def counting(groups: frozenset[str], *, deadly: bool) -> frozenset[str]:
    """Those of the groups that count: against a deadly taxon a place is no evidence."""
    return groups - {HABITAT_GROUP} if deadly else groups


def verdict_on(groups: frozenset[str], *, deadly: bool) -> Verdict:
    """The verdict on the evidence groups that hold a disjoint character."""
    found = len(counting(groups, deadly=deadly))
    if found >= SETTLED_FROM:
        return Verdict.SETTLED
    return Verdict.THIN if found else Verdict.UNSETTLED


def worst(verdicts: Iterable[Verdict]) -> Verdict:
    """The worst of the verdicts; ValueError if there are none."""
    return max(verdicts, key=list(Verdict).index)


def stages_of(account: Account) -> tuple[str, ...]:
    """The stages at which the taxon can be met: those recorded apart, and always "stage not sure"."""
    return (*(stage for stage in STAGES if any(account.characters.get(one) for one in STAGES)), ALL)


def values_at(account: Account, stage: str, characters: Iterable[Character]) -> dict[str, Value]:
    """The values of the characters at a stage, by key of the character."""
    return {one.key: account.value(one.key, stage) for one in characters}


def _stage_pairs(
    this: Account, other: Account, characters: tuple[Character, ...], deadly: bool
) -> Iterable[StagePair]:  # fmt: skip
    ours = {stage: values_at(this, stage, characters) for stage in stages_of(this)}
    theirs = {stage: values_at(other, stage, characters) for stage in stages_of(other)}
    for our_stage, our_values in ours.items():
        for their_stage, their_values in theirs.items():
            held = settling_groups(our_values, their_values, characters)
            counted = tuple(sorted(counting(held, deadly=deadly)))
            yield StagePair(our_stage, their_stage, verdict_on(held, deadly=deadly), counted)


def _in_reading_order(this: Account, characters: tuple[Character, ...]) -> list[Character]:
    """First what the account says to look at, then what costs least effort."""
    look = {key: place for place, key in enumerate(this.look_order)}
    efforts = (*FIELD_EFFORTS, "overnight")
    return sorted(characters, key=lambda one: (look.get(one.key, len(look)), efforts.index(one.effort)))


def _groups_held(rows: Iterable[Comparison], vocabulary: Vocabulary) -> frozenset[str]:
    settling = (vocabulary.characters[row.character] for row in rows if row.outcome is Outcome.BOTH_WAYS)
    return frozenset(one.evidence_group for one in settling if visible(one))


def _seen_in_field(row: Comparison, vocabulary: Vocabulary) -> bool:
    return visible(vocabulary.characters[row.character])
