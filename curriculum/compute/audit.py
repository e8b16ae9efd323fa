"""Audit of all accounts together: which pairs are not told apart, why, and what contradicts itself.

Definition (our rule). Considered are all pairs of a taught taxon with any other that may be confused with it. A pair
without a settled verdict is so through ignorance where characters that nobody recorded could still settle it, and
through overlap where they could not. Similar and not listed: neither account names the other, and the upper bound of
their similarity reaches the threshold on enough comparables; pairs with fewer are listed as too little known.
It must not be taken for a clearance: a pair may be missing because an account is wrong.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass
from enum import StrEnum
from itertools import combinations
from typing import Any

from curriculum.compute.account import ALL, UNKNOWN, Account, Value
from curriculum.compute.comparison import Outcome, compare
from curriculum.compute.contradictions import Contradiction, contradictions
from curriculum.compute.separation import (
    DEADLY,
    SETTLED_FROM,
    Verdict,
    counting,
    settling_groups,
    shared_characters,
    values_at,
    verdict_on,
    visible,
)
from curriculum.compute.similarity import ENOUGH_COMPARABLES, similarity, spans
from curriculum.compute.universe import kept_apart_by, named
from curriculum.compute.vocabulary import Vocabulary

SIMILAR_FROM = 0.9


class Cause(StrEnum):
    """Why a pair is not settled."""

    NONE = ""
    IGNORANCE = "ignorance"
    OVERLAP = "overlap"


class Check(StrEnum):
    """What the characters say of a separator that is written in an account."""

    CONFIRMED = "confirmed"
    ONE_WAY = "one way only"
    CONTRADICTED = "contradicted"
    NOT_CHECKED = "could not be checked"


@dataclass(frozen=True, slots=True)
class PairFinding:
    """A pair and its verdict. `danger` is the worse of the two edibility keys; `open_groups` nobody recorded fully."""

    this: str
    other: str
    verdict: Verdict
    cause: Cause
    danger: str
    named: bool
    groups: tuple[str, ...]
    open_groups: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class NoAccount:
    """A lookalike of a taught taxon that has no account: unsettled at the danger that is feared."""

    taxon: str
    lookalike: str
    feared: str


@dataclass(frozen=True, slots=True)
class Similar:
    """A pair that neither account lists: score and upper bound of the similarity, and what it rests on."""

    this: str
    other: str
    score: float | None
    high: float
    comparables: int


@dataclass(frozen=True, slots=True)
class SeparatorCheck:
    """One written separator and what the characters say of it."""

    taxon: str
    lookalike: str
    character: str
    check: Check


@dataclass(frozen=True, slots=True)
class Audit:
    """All findings, worst first. `excluded` counts the pairs that were not considered, by filter."""

    considered: int
    excluded: Mapping[str, int]
    settled: int
    pairs: tuple[PairFinding, ...]
    without_account: tuple[NoAccount, ...]
    similar: tuple[Similar, ...]
    too_little_known: tuple[Similar, ...]
    separators: tuple[SeparatorCheck, ...]
    contradictions: tuple[Contradiction, ...]

    def unsettled(self, cause: Cause) -> tuple[PairFinding, ...]:
        """The unsettled pairs of one cause, worst first."""
        return tuple(one for one in self.pairs if one.verdict is Verdict.UNSETTLED and one.cause is cause)

    @property
    def thin(self) -> tuple[PairFinding, ...]:
        """The pairs that rest on one piece of evidence, worst first."""
        return tuple(one for one in self.pairs if one.verdict is Verdict.THIN)

    def separators_that_are(self, check: Check) -> tuple[SeparatorCheck, ...]:
        """The written separators of which the characters say `check`."""
        return tuple(one for one in self.separators if one.check is check)

    @property
    def findings(self) -> frozenset[str]:
        """Each finding as one line, so that two audits can be compared."""
        rejected = [one for one in self.separators if one.check is not Check.CONFIRMED]
        return frozenset(
            [f"{one.verdict}: {one.this}, {one.other}" for one in self.pairs]
            + [f"no account: {one.taxon}, {one.lookalike}" for one in self.without_account]
            + [f"alike, not listed: {one.this}, {one.other}" for one in self.similar + self.too_little_known]
            + [f"separator {one.check}: {one.taxon}, {one.lookalike}, {one.character}" for one in rejected]
            + [f"contradiction: {one.taxon}: {one.what}" for one in self.contradictions]
        )

    def as_json(self) -> dict[str, Any]:
        """Plain values for json.dumps."""
        return asdict(self)


@dataclass(frozen=True, slots=True)
class _World:
    """The accounts with what is computed once for all pairs."""

    accounts: Mapping[str, Account]
    vocabulary: Vocabulary
    values: Mapping[str, Mapping[str, Value]]
    spans: Mapping[str, float]

    def rank(self, edibility: str) -> int:
        return self.vocabulary.terms["edibility"][edibility].rank


def audit(accounts: Mapping[str, Account], vocabulary: Vocabulary) -> Audit:
    """The audit of the accounts, by taxon. The work grows with the square of their number."""
    world = _world(accounts, vocabulary)
    pairs = [(one, other) for one, other in combinations(accounts.values(), 2) if "taught" in (one.role, other.role)]
    filters = {(one.taxon, other.taxon): kept_apart_by(one, other, vocabulary) for one, other in pairs}
    inside = [(one, other) for one, other in pairs if not filters[one.taxon, other.taxon]]
    found = [_pair(one, other, world) for one, other in inside]
    alike = sorted(_alike(inside, world), key=lambda one: -one.high)
    return Audit(
        considered=len(inside),
        excluded=dict(Counter(name for name in filters.values() if name)),
        settled=sum(one.verdict is Verdict.SETTLED for one in found),
        pairs=tuple(sorted((one for one in found if one.verdict is not Verdict.SETTLED), key=_worst_first(world))),
        without_account=_without_account(world),
        similar=tuple(one for one in alike if one.comparables >= ENOUGH_COMPARABLES and one.high >= SIMILAR_FROM),
        too_little_known=tuple(one for one in alike if one.comparables < ENOUGH_COMPARABLES),
        separators=tuple(_separator_checks(world)),
        contradictions=contradictions(accounts, vocabulary),
    )


def _world(accounts: Mapping[str, Account], vocabulary: Vocabulary) -> _World:
    every = tuple(vocabulary.characters.values())
    values = {taxon: values_at(one, ALL, every) for taxon, one in accounts.items()}
    return _World(accounts, vocabulary, values, spans(values.values()))


def _pair(this: Account, other: Account, world: _World) -> PairFinding:
    """The verdict at "stage not sure", which is the worst of all pairs of stages."""
    characters = [one for one in shared_characters(this, other, world.vocabulary) if visible(one)]
    ours, theirs = world.values[this.taxon], world.values[other.taxon]
    deadly = DEADLY in (this.edibility, other.edibility)
    held = counting(settling_groups(ours, theirs, characters), deadly=deadly)
    blank = frozenset(one.evidence_group for one in characters if UNKNOWN in (ours[one.key], theirs[one.key]))
    unknown = counting(blank, deadly=deadly) - held
    verdict = verdict_on(held, deadly=deadly)
    return PairFinding(
        this=this.taxon,
        other=other.taxon,
        verdict=verdict,
        cause=_cause(verdict, len(held | unknown)),
        danger=max(this.edibility, other.edibility, key=world.rank),
        named=named(this, other),
        groups=tuple(sorted(held)),
        open_groups=tuple(sorted(unknown)),
    )


def _cause(verdict: Verdict, possible: int) -> Cause:
    if verdict is Verdict.SETTLED:
        return Cause.NONE
    return Cause.IGNORANCE if possible >= SETTLED_FROM else Cause.OVERLAP


def _worst_first(world: _World) -> Any:
    order = list(Verdict)
    return lambda one: (
        -order.index(one.verdict), -world.rank(one.danger), not one.named, len(one.open_groups), one.this, one.other
    )  # fmt: skip


def _alike(pairs: Iterable[tuple[Account, Account]], world: _World) -> Iterator[Similar]:
    """The pairs that neither account names, with their similarity over the characters visible in the field."""
    for this, other in pairs:
        if named(this, other):
            continue
        characters = (one for one in shared_characters(this, other, world.vocabulary) if visible(one))
        found = similarity(world.values[this.taxon], world.values[other.taxon], characters, world.spans)
        yield Similar(this.taxon, other.taxon, found.score, found.high, found.comparables)


def _without_account(world: _World) -> tuple[NoAccount, ...]:
    found = [
        NoAccount(one.taxon, named.group_name or str(named.taxon), named.feared or DEADLY)
        for one in world.accounts.values()
        for named in one.lookalikes
        if one.role == "taught" and named.taxon not in world.accounts
    ]
    return tuple(sorted(found, key=lambda one: (-world.rank(one.feared), one.taxon, one.lookalike)))


def _separator_checks(world: _World) -> Iterator[SeparatorCheck]:
    for one in world.accounts.values():
        for lookalike in one.lookalikes:
            other = world.accounts.get(lookalike.taxon or "")
            for row in lookalike.separators if other else ():
                check = _check(one, other, row.character, world.vocabulary)
                yield SeparatorCheck(one.taxon, str(lookalike.taxon), row.character, check)


def _check(this: Account, other: Account | None, character: str, vocabulary: Vocabulary) -> Check:
    """At "stage not sure"; for grown ones where that is not recorded."""
    known = vocabulary.characters[character]
    outcomes = (
        compare(this.value(character, stage), other.value(character, stage), known).outcome
        for stage in (ALL, "mature")
        if other
    )
    said = next((one for one in outcomes if one not in (Outcome.UNKNOWN, Outcome.NOT_COMPARABLE)), Outcome.UNKNOWN)
    return {
        Outcome.BOTH_WAYS: Check.CONFIRMED, Outcome.ONE_WAY: Check.ONE_WAY, Outcome.OVERLAPS: Check.CONTRADICTED
    }.get(said, Check.NOT_CHECKED)  # fmt: skip
