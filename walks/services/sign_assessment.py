"""Sign the risk assessment of a walk: it is frozen with every fact that it read."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from curriculum.queries import accounts_in_use
from foraywright.floor.acts import act, record
from foraywright.floor.models import User
from walks.assessment_state import AssessmentState, canonical, state_of
from walks.compute.risk_group import Coming
from walks.compute.risk_record import as_record
from walks.errors import AssessmentNotSigned
from walks.models import Offering, SignedAssessment, Site, Walk
from walks.queries import with_everything

SHORTEST_ROLE = 3


@dataclass(frozen=True, slots=True)
class Signature:
    """What the person who signs puts down. `mark` names the draft they read (AssessmentState.mark)."""

    role: str
    mark: str


@act
def sign_assessment(walk: Walk, signature: Signature, coming: Coming, *, by: User, now: datetime) -> SignedAssessment:
    """Sign the draft of `walk` as the next version. Raises AssessmentNotSigned.

    Walk and site are locked: two people could otherwise sign one number, and a fact could change between reading and
    signing. Who has a place is not: a sale in the same moment is seen when the assessment is next read.
    """
    Walk.objects.select_for_update().get(pk=walk.pk)
    Site.objects.select_for_update().get(pk=walk.site_id)
    walk = with_everything(Walk.objects.filter(pk=walk.pk)).get()
    state = state_of(walk, accounts_in_use(), coming)
    reasons = list(_reasons_against(state, signature, now=now))
    if reasons:
        raise AssessmentNotSigned(
            "The assessment was not signed.",
            why=reasons,
            became="The draft is as it was.",
            now="Read it and sign again.",
        )
    signed = _write(state, signature, by=by, now=now)
    record("sign assessment", walk.offering, by=by, now=now, fields=("assessment",), reason=f"version {signed.number}")
    return signed


def _reasons_against(state: AssessmentState, signature: Signature, *, now: datetime) -> Iterator[str]:
    walk = state.walk
    if walk.offering.state == Offering.State.CALLED_OFF or walk.called_off_at:
        yield "The walk is called off."
    if walk.ends_at <= now:
        yield "The walk is over."
    if len(signature.role.strip()) < SHORTEST_ROLE:
        yield "Say what you are to this walk, for example: leading guide."
    if signature.mark != state.mark:
        yield "A fact or the draft changed while you read it."
    yield from state.faults


def _write(state: AssessmentState, signature: Signature, *, by: User, now: datetime) -> SignedAssessment:
    body = canonical({"composed": as_record(state.composed), "signed": as_record(state.draft)})
    return SignedAssessment.objects.create(
        walk=state.walk,
        number=state.signed.number + 1 if state.signed else 1,
        covers=state.scope.covers,
        body=body,
        sha256=hashlib.sha256(body.encode()).hexdigest(),
        signed_by=by,
        name=str(by),
        role=signature.role.strip(),
        signed_at=now,
    )
