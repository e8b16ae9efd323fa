"""Sign an addition in the wood: what has changed since the assessment was signed, and what is done about it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from curriculum.queries import accounts_in_use
from foraywright.floor.acts import act, record
from foraywright.floor.models import User
from walks.assessment_state import AssessmentState, as_kept, hard_stops, state_of
from walks.compute.risk_group import Coming
from walks.errors import AdditionNotSigned
from walks.models import AssessmentAddition, Site, Walk, WalkGuide
from walks.queries import with_everything

FEWEST_LETTERS = 10


@act
def add_to_assessment(
    walk: Walk, coming: Coming, *, what_changed: str, what_we_do: str, by: User, now: datetime
) -> AssessmentAddition:
    """Clear every reason that stands now, over the leading guide's name. Raises AdditionNotSigned.

    Walk and site are locked, so that the reasons kept are those that stand; a later one needs another addition.
    """
    Walk.objects.select_for_update().get(pk=walk.pk)
    Site.objects.select_for_update().get(pk=walk.site_id)
    walk = with_everything(Walk.objects.filter(pk=walk.pk)).get()
    state = state_of(walk, accounts_in_use(), coming)
    why = [*_reasons_against(state, by), *_too_short(what_changed, what_we_do)]
    if why or state.signed is None:
        raise AdditionNotSigned("The addition was not signed.", why=why, became="The assessment is as it was.")
    addition = AssessmentAddition.objects.create(
        assessment=state.signed,
        reasons=[as_kept(one) for one in state.reasons],
        what_changed=what_changed,
        what_we_do=what_we_do,
        signed_by=by,
        name=str(by),
        signed_at=now,
    )
    record("add to assessment", walk.offering, by=by, now=now, fields=("addition",))
    return addition


def _reasons_against(state: AssessmentState, by: User) -> Iterator[str]:
    if state.signed is None:
        yield "Nothing is signed yet: sign the assessment itself."
    elif not state.open_reasons:
        yield "Nothing has changed that needs an addition."
    for _ in hard_stops(state.reasons):
        yield "No first-aider with a certificate in date is on this walk: that is not cleared by an addition."
    if not leads(state.walk, by):
        yield "Only the leading guide of the walk signs an addition."


def leads(walk: Walk, user: User) -> bool:
    """Whether `user` is the leading guide of `walk`. No query where guides are prefetched."""
    leading = [one for one in walk.walk_guides.all() if one.role == WalkGuide.Role.LEADS]
    return any(one.guide.user_id == user.pk for one in leading)


def _too_short(what_changed: str, what_we_do: str) -> Iterator[str]:
    if len(what_changed.strip()) < FEWEST_LETTERS:
        yield "Write what has changed on the ground."
    if len(what_we_do.strip()) < FEWEST_LETTERS:
        yield "Write what you do about it."
