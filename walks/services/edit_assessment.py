"""Change the draft of a walk's risk assessment: whom it covers, and what a person puts to one hazard."""

from __future__ import annotations

from datetime import datetime

from foraywright.floor.acts import By, act, record
from walks.assessments import hazard_library
from walks.compute.risk_assessment import Assessment
from walks.compute.risk_edits import HazardEdit, edits_from, edits_record, faults_of
from walks.compute.risk_group import COVERS, Scope
from walks.errors import DraftNotChanged
from walks.models import AssessmentDraft, Walk


@act
def put_to_hazard(walk: Walk, edit: HazardEdit, composed: Assessment, *, by: By, now: datetime) -> AssessmentDraft:
    """Put `edit` in the place of what was put to that hazard before. Raises DraftNotChanged.

    The walk is locked: of two people who edit two hazards at once, neither loses what the other wrote.
    """
    wrong = faults_of(composed, edit)
    if wrong:
        raise DraftNotChanged("The draft was not changed.", why=wrong, now="Change what is named and send it again.")
    draft = _locked(walk, now)
    others = tuple(one for one in edits_from(draft.edits) if one.key != edit.key)
    return _save(draft, (*others, edit), by=by, now=now, reason=edit.title or edit.key)


@act
def take_back(walk: Walk, key: str, *, by: By, now: datetime) -> AssessmentDraft:
    """Take back what was put to a hazard: one of the library is as composed again, a person's own is gone.

    The walk is locked, as in `put_to_hazard`.
    """
    draft = _locked(walk, now)
    left = tuple(one for one in edits_from(draft.edits) if one.key != key)
    return _save(draft, left, by=by, now=now, reason=key)


@act
def choose_group(walk: Walk, scope: Scope, *, by: By, now: datetime) -> AssessmentDraft:
    """Say whom the assessment covers, and what is arranged for access. Raises DraftNotChanged.

    The walk is locked: the draft would otherwise be created twice.
    """
    known = {*COVERS, *hazard_library().facts["access_controls"].words}
    strange = [one for one in (scope.covers, *scope.arranged) if one not in known]
    if strange:
        why = [f"“{strange[0]}” is not known."]
        raise DraftNotChanged("The draft was not changed.", why=why, now="Choose from the list.")
    draft = _locked(walk, now)
    draft.covers, draft.arranged, draft.changed_at = scope.covers, list(scope.arranged), now
    draft.save(update_fields=["covers", "arranged", "changed_at"])
    record("edit assessment", walk.offering, by=by, now=now, fields=("covers", "arranged"))
    return draft


def _locked(walk: Walk, now: datetime) -> AssessmentDraft:
    Walk.objects.select_for_update().get(pk=walk.pk)
    return AssessmentDraft.objects.get_or_create(walk=walk, defaults={"changed_at": now})[0]


def _save(
    draft: AssessmentDraft, edits: tuple[HazardEdit, ...], *, by: By, now: datetime, reason: str
) -> AssessmentDraft:
    draft.edits, draft.changed_at = edits_record(edits), now
    draft.save(update_fields=["edits", "changed_at"])
    record("edit assessment", draft.walk.offering, by=by, now=now, fields=("edits",), reason=reason)
    return draft
