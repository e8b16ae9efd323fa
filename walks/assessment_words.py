"""Facts and reasons of an assessment in words: species by their common names, times of day as on a clock."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from curriculum.queries import AccountInUse
from walks.assessments import hazard_library
from walks.compute.risk_assessment import AssessedHazard
from walks.compute.risk_facts import Value
from walks.compute.risk_staleness import Staleness


@dataclass(frozen=True, slots=True)
class ChangedFact:
    """A fact that makes a signed assessment stale, as a person reads it, with all that it does to the assessment."""

    fact: str
    was: str
    now: str
    effects: tuple[str, ...]
    is_cleared: bool


def changed_facts(
    reasons: Iterable[Staleness], still_open: Collection[Staleness], accounts: Mapping[str, AccountInUse]
) -> list[ChangedFact]:
    """The reasons by fact: its value at signing and now, and what follows. Cleared where none of them is open."""
    by_fact: dict[tuple[str, Value, Value], list[Staleness]] = {}
    for one in reasons:
        by_fact.setdefault((one.fact, one.was, one.now), []).append(one)
    return [
        ChangedFact(
            fact=plain(fact),
            was=in_words(fact, was, accounts),
            now=in_words(fact, now, accounts),
            effects=tuple(_effect(one, accounts) for one in found),
            is_cleared=not any(one in still_open for one in found),
        )
        for (fact, was, now), found in by_fact.items()
    ]


def _effect(reason: Staleness, accounts: Mapping[str, AccountInUse]) -> str:
    words = reason.effect.split(" ")
    return plain(" ".join(accounts[one].account.vernacular() if one in accounts else one for one in words))


def causes(hazard: AssessedHazard, accounts: Mapping[str, AccountInUse]) -> str:
    """The facts that fired a hazard; "" for one that a person added."""
    return "; ".join(f"{plain(one.fact)}: {in_words(one.fact, one.value, accounts)}" for one in hazard.fired_by)


def in_words(fact: str, value: Value, accounts: Mapping[str, AccountInUse]) -> str:
    """The value of a fact; of one that nobody knows that it is read as the worst."""
    known = hazard_library().facts.get(fact)
    if value is None:
        return "not known, read as the worst"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if known and known.kind == "time" and isinstance(value, int):
        return f"{value // 60 % 24:02}:{value % 60:02}"
    words = value if isinstance(value, tuple) else (value,)
    named = [accounts[str(w)].account.vernacular() if str(w) in accounts else plain(w) for w in words]
    return ", ".join(named) or "none"


def plain(word: object) -> str:
    """A word of the library as one would write it."""
    return str(word).replace("_", " ")
