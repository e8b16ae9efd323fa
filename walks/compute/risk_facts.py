"""The named facts that a risk assessment may read: their kinds, their words, and the dangerous side of each.

A fact that nobody knows is read as the worst it may be: not knowing never helps (our rule). Only the month and the
times of day have no dangerous side. The facts are data, with the meaning of each: walks/hazards/library/facts.toml.

Kinds and their values:
    flag    true or false
    scale   one word of a list, mildest first
    number  a whole number in a stated unit and range
    set     any words of a list, or any words at all where `open`
    month   1 to 12
    time    minutes after midnight of the walk's first day, kept to 15 minutes
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from walks.compute.strict_tables import Problem, Table, TablesRefused, nearest

Value = bool | int | str | tuple[str, ...] | None
"""A fact's value; None where nobody knows it. A set is a tuple in alphabetical order."""

KINDS = ("flag", "scale", "number", "set", "month", "time")
QUARTER = 15
LAST_MINUTE = 2 * 24 * 60 - QUARTER


@dataclass(frozen=True, slots=True)
class Fact:
    """A named fact.

    `worse`: "true" or "false" for a flag, "higher" or "lower" for a number, "" for the other kinds.
    `lowest` and `highest`: the range of a number, a month or a time.
    `rounds`: whether a time is kept as the quarter of an hour before it ("down") or after it ("up").
    `emergency`: printed for emergencies, so that a change of it makes a signed assessment stale.
    `never_silent`: a library is refused unless this fact alone fires a hazard.
    `unknown_counts_where`: another fact and words of it; elsewhere, not knowing this fact is no sign of danger.
    """

    key: str
    kind: str
    meaning: str
    unit: str = ""
    words: tuple[str, ...] = ()
    open: bool = False
    worse: str = ""
    lowest: int = 0
    highest: int = 0
    rounds: str = "down"
    emergency: bool = False
    never_silent: bool = False
    unknown_counts_where: tuple[str, tuple[str, ...]] | None = None

    def kept(self, value: object) -> Value:
        """The value as an assessment keeps it: times to 15 minutes, sets in alphabetical order.

        ValueError says what was expected where the value does not fit the fact.
        """
        if value is None:
            return None
        if self.kind == "set":
            return self._kept_words(value)
        if self.kind == "scale" and isinstance(value, str) and value in self.words:
            return value
        if self.kind == "flag" and isinstance(value, bool):
            return value
        if isinstance(value, int) and not isinstance(value, bool) and self.lowest <= value <= self.highest:
            return self._quarter(value) if self.kind == "time" else value
        raise ValueError(f"expected {self.expected}, found {value!r}")

    def place(self, value: bool | int | str) -> int:
        """Where a value that is no set stands from mild to bad on a scale, or the number that it is."""
        return self.words.index(value) if isinstance(value, str) else int(value)

    @property
    def expected(self) -> str:
        """What a value of this fact must be, in words."""
        if self.kind in ("scale", "set"):
            return ("a list of " if self.kind == "set" else "one of ") + (", ".join(self.words) or "words")
        return "true or false" if self.kind == "flag" else f"a whole number from {self.lowest} to {self.highest}"

    def _quarter(self, minute: int) -> int:
        return (minute // QUARTER if self.rounds == "down" else -(-minute // QUARTER)) * QUARTER

    def _kept_words(self, value: object) -> tuple[str, ...]:
        if isinstance(value, str) or not isinstance(value, Iterable):
            raise ValueError(f"expected {self.expected}, found {value!r}")
        words = tuple(sorted({str(word) for word in value}))
        strange = [word for word in words if not self.open and word not in self.words]
        if strange:
            raise ValueError(f"'{strange[0]}' is not known; {nearest(strange[0], self.words)}")
        return words


def read_fact(table: Table) -> Fact:
    """A fact from its table in a data file; faults are kept in the table."""
    kind = table.word("kind", KINDS)
    lowest, highest = _range(table, kind)
    fact = Fact(
        key=table.text("key"),
        kind=kind,
        meaning=table.text("meaning"),
        unit=table.text("unit") if kind == "number" else "",
        words=table.texts("words", required=kind == "scale") if kind in ("scale", "set") else (),
        open=kind == "set" and table.flag("open", False),
        worse=_worse(table, kind),
        lowest=lowest,
        highest=highest,
        rounds=table.word("rounds", ("up", "down")) if kind == "time" else "down",
        emergency=table.flag("emergency", False),
        never_silent=table.flag("never_silent", False),
        unknown_counts_where=_where(table),
    )
    if kind == "set" and fact.open == bool(fact.words):
        table.refuse("words", "expected either a list of words or open = true")
    table.finish()
    return fact


def _range(table: Table, kind: str) -> tuple[int, int]:
    if kind == "number":
        return table.number("lowest", -100_000, 100_000), table.number("highest", -100_000, 100_000)
    # A range that nothing fits: a number is no value of a flag, a scale or a set.
    return {"month": (1, 12), "time": (0, LAST_MINUTE)}.get(kind, (1, 0))


def _worse(table: Table, kind: str) -> str:
    if kind == "flag":
        return str(table.flag("worse", True)).lower()
    return table.word("worse", ("higher", "lower")) if kind == "number" else ""


def _where(table: Table) -> tuple[str, tuple[str, ...]] | None:
    if not table.has("unknown_counts_where"):
        return None
    where = table.table("unknown_counts_where")
    pair = where.text("fact"), where.texts("in", required=True)
    where.finish()
    return pair


def keep_facts(vocabulary: Mapping[str, Fact], facts: Mapping[str, object]) -> dict[str, Value]:
    """Each fact of the vocabulary with the value that an assessment keeps; what is not given is not known.

    TablesRefused names each fact that is not in the vocabulary and each value that does not fit.
    """
    problems = [
        Problem("facts", key, f"this fact is not known; {nearest(key, vocabulary)}")
        for key in facts
        if key not in vocabulary
    ]
    kept: dict[str, Value] = {}
    for key, fact in vocabulary.items():
        try:
            kept[key] = fact.kept(facts.get(key))
        except ValueError as fault:
            problems.append(Problem("facts", key, str(fault)))
    if problems:
        raise TablesRefused(problems)
    return kept
