"""Rules of a hazard library: a predicate over named facts, and what it fires.

A predicate is a condition `{fact = ..., <test> = ...}` or `{all = [...]}` or `{any = [...]}` of predicates. There is no
"not", and a condition tests a fact towards its dangerous side only; the reader refuses anything else. So predicates are
monotone: a worse fact, or one that is no longer known, never stops a rule from firing.

Tests by kind of fact:
    flag    is        the dangerous one
    scale   at_least  this word or a worse one
    number  at_least or at_most, whichever is the dangerous side
    set     in        at least one of these words;  at_least: so many words, whichever
    month   in        one of these months
    time    before, after  a time of the first day as "HH:MM"
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from walks.compute.risk_facts import Fact, Value
from walks.compute.risk_matrix import Score
from walks.compute.strict_tables import Table

TESTS = {
    "flag": ("is",),
    "scale": ("at_least",),
    "number": ("at_least", "at_most"),
    "set": ("in", "at_least"),
    "month": ("in",),
    "time": ("before", "after"),
}
FAR = 1_000_000


@dataclass(frozen=True, slots=True)
class FiredBy:
    """A fact that made a predicate hold, with the part of its value that did; None where nobody knows the value."""

    fact: str
    value: Value


@dataclass(frozen=True, slots=True)
class Condition:
    """One test of one fact: its place, or the number of its words, lies from `low` to `high`; only `among` count."""

    fact: Fact
    low: int
    high: int
    among: frozenset[str | int] = frozenset()

    def fired_by(self, facts: Mapping[str, Value]) -> frozenset[FiredBy] | None:
        """The fact, where the test holds; None where it does not."""
        value = facts.get(self.fact.key)
        holds = self._unknown_counts(facts) if value is None else self._holds(value)
        part = tuple(word for word in value if self._counts(word)) if isinstance(value, tuple) else value
        return frozenset({FiredBy(self.fact.key, part)}) if holds else None

    def _unknown_counts(self, facts: Mapping[str, Value]) -> bool:
        if self.fact.unknown_counts_where is None:
            return True
        other, words = self.fact.unknown_counts_where
        known = facts.get(other)
        return not isinstance(known, tuple) or any(word in words for word in known)

    def _holds(self, value: bool | int | str | tuple[str, ...]) -> bool:
        if isinstance(value, tuple):
            return sum(self._counts(word) for word in value) >= self.low
        return self.low <= self.fact.place(value) <= self.high and self._counts(value)

    def _counts(self, value: bool | int | str) -> bool:
        return not self.among or value in self.among


@dataclass(frozen=True, slots=True)
class AllOf:
    """Holds where each of its parts holds."""

    parts: tuple[Predicate, ...]

    def fired_by(self, facts: Mapping[str, Value]) -> frozenset[FiredBy] | None:
        """The facts of all parts, or None."""
        found = [part.fired_by(facts) for part in self.parts]
        held = [facts_ for facts_ in found if facts_ is not None]
        return frozenset().union(*held) if len(held) == len(found) else None


@dataclass(frozen=True, slots=True)
class AnyOf:
    """Holds where at least one of its parts holds."""

    parts: tuple[Predicate, ...]

    def fired_by(self, facts: Mapping[str, Value]) -> frozenset[FiredBy] | None:
        """The facts of the parts that hold, or None."""
        held = [found for part in self.parts if (found := part.fired_by(facts)) is not None]
        return frozenset().union(*held) if held else None


Predicate = Condition | AllOf | AnyOf


@dataclass(frozen=True, slots=True)
class Action:
    """Something still to do, the role that does it, and the day by which, as YYYY-MM-DD ("" where none is set yet)."""

    action: str
    owner: str
    due: str = ""


@dataclass(frozen=True, slots=True)
class Rule:
    """Where `when` holds, `hazard` is there: perhaps at a higher score, with more controls, with more to do."""

    hazard: str
    when: Predicate
    before: Score | None = None
    after: Score | None = None
    controls: tuple[str, ...] = ()
    further: tuple[Action, ...] = ()


def conditions(predicate: Predicate) -> tuple[Condition, ...]:
    """Every condition of a predicate, in the order written."""
    if isinstance(predicate, Condition):
        return (predicate,)
    return tuple(condition for part in predicate.parts for condition in conditions(part))


def read_predicate(table: Table, facts: Mapping[str, Fact]) -> Predicate | None:
    """A predicate from a data file; None, and a fault kept in the table, where it cannot be used."""
    for key, kind in (("all", AllOf), ("any", AnyOf)):
        if table.has(key):
            parts = [read_predicate(part, facts) for part in table.tables(key, required=True)]
            table.finish()
            good = tuple(part for part in parts if part is not None)
            return kind(good) if good and len(good) == len(parts) else None
    return _condition(table, facts)


def _condition(table: Table, facts: Mapping[str, Fact]) -> Condition | None:
    fact = facts.get(table.word("fact", facts))
    tests, table.rest = table.rest, {}
    if fact is None:
        return None
    allowed = TESTS.get(fact.kind, ())
    if len(tests) != 1 or not set(tests) <= set(allowed):
        table.refuse(", ".join(tests) or "fact", f"{fact.key} is a {fact.kind}; expected one of: {', '.join(allowed)}")
        return None
    test, limit = next(iter(tests.items()))
    try:
        return _tested(fact, test, limit)
    except ValueError as fault:
        table.refuse(test, str(fault))
        return None


def _tested(fact: Fact, test: str, limit: object) -> Condition:
    if test == "in":
        return Condition(fact, 1, FAR, _members(fact, limit))
    place = _place(fact, limit)
    side = {"is": str(limit).lower(), "at_least": "higher", "at_most": "lower"}.get(test, "")
    if fact.worse and side != fact.worse:
        raise ValueError(f"{fact.key} may be tested towards its dangerous side only, which is '{fact.worse}'")
    low, high = {
        "is": (place, place),
        "at_least": (place, FAR),
        "at_most": (-FAR, place),
        "before": (-FAR, place - 1),
        "after": (place + 1, FAR),
    }[test]
    return Condition(fact, low, high)


def _members(fact: Fact, limit: object) -> frozenset[str | int]:
    if not isinstance(limit, list) or not limit:
        raise ValueError(f"expected a list with at least one entry, found {limit!r}")
    kept = [fact.kept(month) for month in limit] if fact.kind == "month" else fact.kept(limit)
    return frozenset(kept or ())  # type: ignore[arg-type]


def _place(fact: Fact, limit: object) -> int:
    if fact.kind == "time":
        return _minute(limit)
    if fact.kind == "set":
        return _count(fact, limit)
    kept = fact.kept(limit)
    if kept is None or isinstance(kept, tuple):
        raise ValueError(f"expected {fact.expected}, found {limit!r}")
    return fact.place(kept)


def _minute(limit: object) -> int:
    match = re.fullmatch(r"([01]\d|2[0-3]):([0-5]\d)", limit) if isinstance(limit, str) else None
    if match is None:
        raise ValueError(f'expected a time as "HH:MM", found {limit!r}')
    return int(match[1]) * 60 + int(match[2])


def _count(fact: Fact, limit: object) -> int:
    most = FAR if fact.open else len(fact.words)
    if not isinstance(limit, int) or isinstance(limit, bool) or not 1 <= limit <= most:
        raise ValueError(f"expected a number from 1 to the number of its words, found {limit!r}")
    return limit
