"""Ask for a season plan: a row that the worker carries out."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from foraywright.floor.acts import By, act, record
from foraywright.floor.models import User
from walks.errors import PlanNotAsked
from walks.models import PlanProposal, SeasonPlan
from walks.season_wanted import Wanted

LONGEST = timedelta(days=370)
KEPT = (PlanProposal.State.PINNED, PlanProposal.State.DROPPED)


@act
def ask_for_plan(
    first: date, last: date, wanted: Wanted, *, before: SeasonPlan | None = None, by: By, now: datetime
) -> SeasonPlan:
    """Ask for the days `first` to `last`. What was pinned and dropped in the plan `before` stays so in the new one.

    The plan before is locked: somebody could decide of a proposal while it is copied. Raises PlanNotAsked.
    """
    if before is not None:
        before = SeasonPlan.objects.select_for_update().get(pk=before.pk)
    _refuse(first, last, before, now=now)
    plan = SeasonPlan.objects.create(
        first_day=first,
        last_day=last,
        asked=wanted.stored,
        asked_by=by if isinstance(by, User) else None,
        asked_at=now,
        due_at=now,
        before=before,
    )
    if before is not None:
        _carry_over(before, plan)
    record("ask for season plan", plan, by=by, now=now, fields=("first_day", "last_day", "asked"))
    return plan


def _refuse(first: date, last: date, before: SeasonPlan | None, *, now: datetime) -> None:
    why = []
    if last < first:
        why.append("The last day lies before the first.")
    if last - first > LONGEST:
        why.append("A plan covers at most one year.")
    if first <= now.date():
        why.append("A plan begins tomorrow at the earliest.")
    if before is not None and before.done_at is None:
        why.append("The plan before it is not made yet.")
    if why:
        raise PlanNotAsked("No plan was begun.", why=why, became="Nothing was saved.", now="Change the dates.")


def _carry_over(before: SeasonPlan, plan: SeasonPlan) -> None:
    kept = before.proposals.filter(state__in=KEPT, local_date__range=(plan.first_day, plan.last_day))
    columns = ("local_date", "local_time", "minutes", "site_id", "theme_id", "guide_id", "worth", "state")
    PlanProposal.objects.bulk_create(
        PlanProposal(plan=plan, **{name: getattr(one, name) for name in columns}) for one in kept
    )
