"""Whether a signed risk assessment still covers the walk as it is now known.

Definition (our rule): it is stale where composing it anew adds or raises anything, or where something printed for
emergencies differs. What only removes or lowers leaves the signed one in force and offers a newer draft.
"Not stale" says that the facts have not turned for the worse; the wood itself is still looked at on the day.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from walks.compute.risk_assessment import AssessedHazard, Assessment, Risk
from walks.compute.risk_facts import Value


@dataclass(frozen=True, slots=True)
class Staleness:
    """One reason why a signed assessment no longer holds: what it does to the assessment, and the fact behind it.

    `hazard` is the key of the hazard concerned, "" for what is printed for emergencies and for a change of matrix.
    """

    effect: str
    hazard: str
    fact: str
    was: Value
    now: Value


def stale(signed: Assessment, now: Assessment) -> tuple[Staleness, ...]:
    """Every reason why `signed` no longer holds beside the assessment composed anew; empty where it holds."""
    if (signed.matrix, signed.levels) != (now.matrix, now.levels):
        return (Staleness("reads risk off another matrix", "", "risk matrix", signed.matrix, now.matrix),)
    reasons = list(_emergency(signed, now))
    known = {hazard.key: hazard for hazard in signed.hazards}
    for hazard in now.hazards:
        for effect in _effects(known.get(hazard.key), hazard, now.levels):
            reasons += _behind(effect, hazard, signed, now)
    return tuple(reasons)


def newer_draft(signed: Assessment, now: Assessment) -> bool:
    """Whether the signed assessment holds, yet one composed now would read differently."""
    return signed.hazards != now.hazards and not stale(signed, now)


def _emergency(signed: Assessment, now: Assessment) -> Iterator[Staleness]:
    was = {fact.fact: fact.value for fact in signed.emergency}
    is_now = {fact.fact: fact.value for fact in now.emergency}
    for fact in sorted(was.keys() | is_now.keys()):
        if was.get(fact) != is_now.get(fact):
            yield Staleness("changes what is printed for emergencies", "", fact, was.get(fact), is_now.get(fact))


def _effects(was: AssessedHazard | None, now: AssessedHazard, levels: tuple[str, ...]) -> Iterator[str]:
    if was is None:
        yield f"adds the hazard “{now.title}”"
        return
    for name, old, new in (("before", was.inherent, now.inherent), ("after", was.residual, now.residual)):
        if _raised(old, new, levels):
            yield f"raises the risk of “{now.title}” {name} the controls from {_said(old)} to {_said(new)}"
    yield from (f"adds a control to “{now.title}”: {text}" for text in now.controls if text not in was.controls)
    yield from (f"adds an action to “{now.title}”: {a.action}" for a in now.further if a not in was.further)
    yield from (f"adds to what brings about “{now.title}”: {word}" for word in _new_words(was, now))


def _raised(old: Risk, new: Risk, levels: tuple[str, ...]) -> bool:
    return new.score.exceeds(old.score) or levels.index(new.level) > levels.index(old.level)


def _said(risk: Risk) -> str:
    return f"{risk.level} (likelihood {risk.score.likelihood}, severity {risk.score.severity})"


def _new_words(was: AssessedHazard, now: AssessedHazard) -> Iterator[str]:
    """Words of a set that are new among the causes: a second deadly species adds to a hazard that was there before."""
    known = {cause.fact: cause.value for cause in was.fired_by}
    for cause in now.fired_by:
        old = known.get(cause.fact, ())
        if cause.value is None and old is not None:
            yield f"{cause.fact} is no longer known"
        if isinstance(cause.value, tuple) and isinstance(old, tuple):
            yield from (word for word in cause.value if word not in old)


def _behind(effect: str, hazard: AssessedHazard, signed: Assessment, now: Assessment) -> list[Staleness]:
    """The effect with each fact behind it that differs; where none does, the library itself has changed."""
    changed = [fact for fact in (cause.fact for cause in hazard.fired_by) if signed.value(fact) != now.value(fact)]
    if not changed:
        versions = signed.library_version, now.library_version
        return [Staleness(effect, hazard.key, "hazard library", *versions)]
    return [Staleness(effect, hazard.key, fact, signed.value(fact), now.value(fact)) for fact in changed]
