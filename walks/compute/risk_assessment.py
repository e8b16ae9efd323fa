"""The risk assessment of one walk, composed from the hazard library and the facts of the walk.

Definition: each rule of the library whose predicate holds fires its hazard; a hazard fired more than once takes of each
rating the higher one and the union of the controls and of what is still to do. The structure is the five steps of the
Health and Safety Executive ("Managing risks and risk assessment at work").
An assessment ranks what may go wrong so that people can act on it. It is not a forecast, it is complete only as far as
the library and the facts are, and it counts nothing until a competent person has read and signed it.
It prints the control, never the count of children or the condition that called for it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TypeVar

from walks.compute.risk_facts import Value, keep_facts
from walks.compute.risk_library import Hazard, Library, Step
from walks.compute.risk_matrix import Matrix, Score
from walks.compute.risk_rules import Action, FiredBy, Rule

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Risk:
    """A score and its level in the words of the matrix that was used."""

    score: Score
    level: str


@dataclass(frozen=True, slots=True)
class AssessedHazard:
    """A hazard of this walk. `inherent` is the risk before the controls, `residual` the risk with them in place.

    `reason`: why the person who assessed it scores it lower than the library does; "" where nobody did.
    """

    key: str
    title: str
    who: str
    inherent: Risk
    residual: Risk
    controls: tuple[str, ...]
    further: tuple[Action, ...]
    sources: tuple[str, ...]
    fired_by: tuple[FiredBy, ...]
    reason: str = ""


@dataclass(frozen=True, slots=True)
class KeptFact:
    """A fact as it was when the assessment was composed; `version` is that of the record it came from."""

    fact: str
    version: str
    value: Value


@dataclass(frozen=True, slots=True)
class Assessment:
    """The assessed hazards of a walk, the worst remaining risk first, with every fact that was read."""

    library_version: str
    matrix: str
    matrix_version: str
    levels: tuple[str, ...]
    steps: tuple[Step, ...]
    hazards: tuple[AssessedHazard, ...]
    facts: tuple[KeptFact, ...]
    emergency: tuple[KeptFact, ...]

    def value(self, fact: str) -> Value:
        """The kept value of a fact; None where it was not known, or not asked by that version of the library."""
        return next((kept.value for kept in self.facts if kept.fact == fact), None)


def compose(
    library: Library,
    matrix: Matrix,
    facts: Mapping[str, object],
    *,
    versions: Mapping[str, str] | None = None,
    emergency: Mapping[str, str] | None = None,
) -> Assessment:
    """The assessment of a walk with these facts. A fact that is missing or None is not known, and read as the worst.

    `versions`: of the record that each fact came from. `emergency`: what else is printed for emergencies (grid
    reference, numbers, way in for an ambulance), by its heading.
    TablesRefused names each fact that the library does not know and each value that does not fit its fact.
    """
    kept = keep_facts(library.facts, facts)
    versions = versions or {}
    read = tuple(KeptFact(key, versions.get(key, ""), value) for key, value in kept.items())
    printed = tuple(KeptFact(key, "", value) for key, value in sorted((emergency or {}).items()))
    return Assessment(
        library_version=library.version,
        matrix=matrix.key,
        matrix_version=matrix.version,
        levels=matrix.levels,
        steps=library.steps,
        hazards=tuple(sorted(_assessed(library, matrix, kept), key=lambda hazard: worst_first(matrix, hazard))),
        facts=read,
        emergency=tuple(fact for fact in read if library.facts[fact.fact].emergency) + printed,
    )


def _assessed(library: Library, matrix: Matrix, facts: Mapping[str, Value]) -> list[AssessedHazard]:
    fired: dict[str, list[tuple[Rule, frozenset[FiredBy]]]] = {}
    for rule in library.rules:
        found = rule.when.fired_by(facts)
        if found is not None:
            fired.setdefault(rule.hazard, []).append((rule, found))
    return [
        _join(library, matrix, library.hazards[key], [rule for rule, _ in pairs], [found for _, found in pairs])
        for key, pairs in fired.items()
    ]


def _join(
    library: Library, matrix: Matrix, hazard: Hazard, rules: list[Rule], found: list[frozenset[FiredBy]]
) -> AssessedHazard:
    before, after = hazard.before, hazard.after
    for rule in rules:
        before = before.joined(rule.before) if rule.before else before
        after = after.joined(rule.after) if rule.after else after
    return AssessedHazard(
        key=hazard.key,
        title=hazard.title,
        who=hazard.who,
        inherent=Risk(before, matrix.level(before)),
        residual=Risk(after, matrix.level(after)),
        controls=_once(hazard.controls, *(rule.controls for rule in rules)),
        further=_once(hazard.further, *(rule.further for rule in rules)),
        sources=tuple(library.sources[key].title for key in hazard.sources),
        fired_by=_causes(found),
    )


def _once(*lists: Iterable[T]) -> tuple[T, ...]:
    return tuple(dict.fromkeys(entry for entries in lists for entry in entries))


def _causes(found: list[frozenset[FiredBy]]) -> tuple[FiredBy, ...]:
    """Each fact once, in alphabetical order, with all the words of it that fired anything."""
    causes: dict[str, Value] = {}
    for cause in frozenset[FiredBy]().union(*found):
        here = causes.get(cause.fact, cause.value)
        if isinstance(here, tuple) and isinstance(cause.value, tuple):
            causes[cause.fact] = tuple(sorted({*here, *cause.value}))
        else:
            causes[cause.fact] = cause.value
    return tuple(FiredBy(fact, value) for fact, value in sorted(causes.items()))


def worst_first(matrix: Matrix, hazard: AssessedHazard) -> tuple[int, int, int, int, str]:
    """What remains decides, a possible death before a frequent scratch of the same level; the key settles ties."""
    residual, inherent = hazard.residual.score, hazard.inherent.score
    return (-matrix.rank(residual), -residual.severity, -residual.likelihood, -matrix.rank(inherent), hazard.key)
