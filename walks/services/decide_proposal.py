"""Accept, drop, pin or leave open one proposal of a season plan."""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from foraywright.floor.acts import By, act, record
from walks.errors import ProposalNotDecided, WalkNotScheduled
from walks.models import PlanProposal, SeasonPlan
from walks.services.schedule_walk import Plan, put_in_calendar
from walks.services.sessions import Session

Decision = Literal["accept", "drop", "pin", "open"]
State = PlanProposal.State
STATES = {"drop": State.DROPPED, "pin": State.PINNED, "open": State.PROPOSED}


@act
def decide_proposal(proposal: PlanProposal, decision: Decision, *, by: By, now: datetime) -> PlanProposal:
    """Decide of a proposal; accepting makes a draft walk of it. Raises ProposalNotDecided with every reason.

    The proposal is locked: accepted twice at once it would become two walks.
    """
    SeasonPlan.objects.select_for_update().get(pk=proposal.plan_id)
    proposal = PlanProposal.objects.select_for_update().get(pk=proposal.pk)
    if proposal.state == State.ACCEPTED:
        raise ProposalNotDecided("This proposal is a walk already.", now="Change or call off the walk itself.")
    if decision == "accept":
        _accept(proposal, by=by, now=now)
    else:
        proposal.state = STATES[decision]
    proposal.save(update_fields=["state", "offering"])
    record(f"{decision} proposal", proposal, by=by, now=now, fields=("state",))
    return proposal


def _accept(proposal: PlanProposal, *, by: By, now: datetime) -> None:
    session = Session(
        site=proposal.site,
        local_date=proposal.local_date,
        local_time=proposal.local_time,
        minutes=proposal.minutes,
        guides=(proposal.guide,),
    )
    plan = Plan(title=proposal.theme.name, theme=proposal.theme, sessions=(session,))
    try:
        proposal.offering = put_in_calendar(plan, by=by, now=now)
    except WalkNotScheduled as refused:
        raise ProposalNotDecided(
            "The proposal did not become a walk.",
            why=refused.why,
            became="It stays a proposal.",
            now="Put that right, or ask for the plan again: it takes account of what is recorded now.",
        ) from refused
    proposal.state = State.ACCEPTED
