"""Facts and reasons of an assessment in words: species by their common names, times of day as on a clock."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from curriculum.queries import AccountInUse
from walks.assessments import hazard_library
from walks.compute.risk_assessment import AssessedHazard
from walks.compute.risk_facts import Value
from walks.compute.risk_staleness import Staleness


@dataclass(frozen=True, slots=True)
class ReasonInWords:
    """A reason why a signed assessment is stale, as a person reads it."""

    effect: str
    fact: str
    was: str
    now: str


def reason_in_words(reason: Staleness, accounts: Mapping[str, AccountInUse]) -> ReasonInWords:
    """What happened to the assessment, which fact is behind it, and its value at signing and now."""
    effect = reason.effect
    for key in (word for word in effect.split() if word in accounts):
        effect = effect.replace(key, accounts[key].account.vernacular())
    was, now = (in_words(reason.fact, value, accounts) for value in (reason.was, reason.now))
    return ReasonInWords(plain(effect), plain(reason.fact), was, now)


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
