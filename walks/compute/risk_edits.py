"""What a person changes in a composed risk assessment before signing it.

A person may score a hazard anew, add controls, things still to do and whole hazards. Nothing composed is ever taken
away: what the facts bring about stays on the list. Our rules for scores: with the controls never worse than without; a
score that falls needs a reason in writing; a harm that may kill stays one (severity 5 is never lowered), because a
person can judge how often it happens, not that it does not.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass, replace
from typing import Any

from walks.compute.risk_assessment import AssessedHazard, Assessment, Risk, worst_first
from walks.compute.risk_matrix import DEADLY, Matrix, Score
from walks.compute.risk_rules import Action

OWN = "own-"
"""Start of the keys of hazards that a person added."""


@dataclass(frozen=True, slots=True)
class HazardEdit:
    """What a person put to one hazard. `title` and `who` only of a hazard of their own; scores None = as composed."""

    key: str
    before: Score | None = None
    after: Score | None = None
    reason: str = ""
    controls: tuple[str, ...] = ()
    further: tuple[Action, ...] = ()
    title: str = ""
    who: str = ""

    @property
    def is_own(self) -> bool:
        """Whether it is a hazard that a person added, not one of the library."""
        return self.key.startswith(OWN)


def edited(composed: Assessment, edits: tuple[HazardEdit, ...], matrix: Matrix, *, due: str) -> Assessment:
    """The assessment with what a person changed in it; what is still to do without a day is due on `due`.

    An edit of a hazard that is composed no longer changes nothing.
    """
    of = {one.key: one for one in edits}
    hazards = [_edited(one, of[one.key], matrix) if one.key in of else one for one in composed.hazards]
    hazards += [_own(one, matrix) for one in edits if one.is_own and one.before and one.after]
    dated = [replace(one, further=tuple(replace(a, due=a.due or due) for a in one.further)) for one in hazards]
    return replace(composed, hazards=tuple(sorted(dated, key=lambda one: worst_first(matrix, one))))


def _edited(hazard: AssessedHazard, edit: HazardEdit, matrix: Matrix) -> AssessedHazard:
    before = edit.before or hazard.inherent.score
    after = edit.after or hazard.residual.score
    return replace(
        hazard,
        inherent=Risk(before, matrix.level(before)),
        residual=Risk(after, matrix.level(after)),
        controls=tuple(dict.fromkeys((*hazard.controls, *edit.controls))),
        further=tuple(dict.fromkeys((*hazard.further, *edit.further))),
        reason=edit.reason,
    )


def _own(edit: HazardEdit, matrix: Matrix) -> AssessedHazard:
    assert edit.before
    assert edit.after
    return AssessedHazard(
        key=edit.key,
        title=edit.title,
        who=edit.who,
        inherent=Risk(edit.before, matrix.level(edit.before)),
        residual=Risk(edit.after, matrix.level(edit.after)),
        controls=edit.controls,
        further=edit.further,
        sources=("The person who signed this assessment",),
        fired_by=(),
        reason=edit.reason,
    )


def faults(composed: Assessment, edits: tuple[HazardEdit, ...]) -> tuple[str, ...]:
    """Every reason why the edited assessment cannot be signed, as sentences; empty where it can."""
    hazards = {one.key: one for one in composed.hazards}
    found: list[str] = []
    for edit in edits:
        if edit.is_own:
            found += _faults_of_own(edit)
        elif edit.key in hazards:
            found += _faults_of(hazards[edit.key], edit)
    return tuple(found)


def faults_of(composed: Assessment, edit: HazardEdit) -> tuple[str, ...]:
    """The faults of one edit."""
    return faults(composed, (edit,))


def _faults_of(hazard: AssessedHazard, edit: HazardEdit) -> Iterator[str]:
    before, after = edit.before or hazard.inherent.score, edit.after or hazard.residual.score
    pairs = ((hazard.inherent.score, before), (hazard.residual.score, after))
    if after.exceeds(before):
        yield f"{hazard.title}: with the controls no rating may be higher than before them."
    if any(old.severity == DEADLY > new.severity for old, new in pairs):
        yield f"{hazard.title}: this may kill; severity 5 stays 5. Lower the likelihood where you have a reason."
    if any(old.exceeds(new) for old, new in pairs) and not edit.reason.strip():
        yield f"{hazard.title}: a rating is lower than the library’s. Write the reason."


def _faults_of_own(edit: HazardEdit) -> Iterator[str]:
    named = edit.title or "The hazard that you add"
    if not edit.title.strip() or not edit.who.strip():
        yield f"{named}: say what it is, and whom it may harm and how."
    if not edit.controls:
        yield f"{named}: say what is done about it, at least one control."
    if edit.before is None or edit.after is None:
        yield f"{named}: rate the likelihood and the severity, before and with the controls."
    elif edit.after.exceeds(edit.before):
        yield f"{named}: with the controls no rating may be higher than before them."


def edits_record(edits: tuple[HazardEdit, ...]) -> list[dict[str, Any]]:
    """The edits as lists and dictionaries for keeping as JSON."""
    return [asdict(one) for one in edits]


def edits_from(record: list[Mapping[str, Any]]) -> tuple[HazardEdit, ...]:
    """The edits that `edits_record` wrote."""
    return tuple(_edit(one) for one in record)


def _edit(record: Mapping[str, Any]) -> HazardEdit:
    return HazardEdit(
        key=record["key"],
        before=Score(**record["before"]) if record["before"] else None,
        after=Score(**record["after"]) if record["after"] else None,
        reason=record["reason"],
        controls=tuple(record["controls"]),
        further=tuple(Action(**one) for one in record["further"]),
        title=record["title"],
        who=record["who"],
    )
