"""A season plan as its page shows it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from typing import Any

from walks.compute.season_chart import Kind, Month, Strip, months, strips
from walks.models import PlanProposal, SeasonPlan, Site, Walk

State = PlanProposal.State
RANKS = {"wishes:1": "Wishes for themes", "wishes:2": "Wishes for the school holidays"}


@dataclass(frozen=True, slots=True)
class ShownPlan:
    """Drawing, figures, what could not be met, and the proposals by month."""

    strips: list[Strip]
    months: list[Month]
    figures: list[str]
    unmet: list[str]
    by_month: list[tuple[str, list[PlanProposal]]]
    total: int
    walks: int


def shown(plan: SeasonPlan) -> ShownPlan:
    """The plan for the page. Four queries."""
    proposals = list(plan.proposals.select_related("site", "theme", "guide", "offering"))
    walks = list(_walks(plan))
    names = dict(Site.objects.values_list("public_id", "name"))
    first, last = plan.first_day, plan.last_day
    return ShownPlan(
        strips=strips(first, last, names, plan.result["seasons"], [*walks, *_marks(proposals)]),
        months=months(first, last),
        figures=[_figure(one) for one in plan.result["aims"]],
        unmet=[one["sentence"] for one in plan.result["unmet"]],
        by_month=[(month, list(some)) for month, some in groupby(proposals, key=lambda one: f"{one.local_date:%B %Y}")],
        total=sum(one.state != State.DROPPED for one in proposals),
        walks=len(walks),
    )


def _walks(plan: SeasonPlan) -> Iterator[tuple[str, date, Kind]]:
    live = Walk.objects.filter(called_off_at=None, local_date__range=(plan.first_day, plan.last_day))
    for site, day in live.values_list("site__public_id", "local_date"):
        yield site, day, "walk"


def _marks(proposals: list[PlanProposal]) -> Iterator[tuple[str, date, Kind]]:
    kinds: dict[str, Kind] = {State.PROPOSED: "proposed", State.PINNED: "pinned"}
    for one in proposals:
        if one.state in kinds:
            yield one.site.public_id, one.local_date, kinds[one.state]


def _figure(aim: dict[str, Any]) -> str:
    """What came of one aim, in words; its cost is in half thousandths for the worth, in walks or points else."""
    proof = "no better plan exists" if aim["proven"] else f"at most {aim['gap']:.1%} could still be gained"
    name = aim["aim"]
    if name == "worth":
        gave = f"; {(aim['final'] - aim['cost']) / 2000:.1f} of it was given up for the aims after it"
        return f"Species: {-aim['cost'] / 2000:.1f} wanted ones in all, later walks of a theme at half: {proof}{gave}."
    if name == "spread":
        return f"Spread: {aim['final']} walks more at some sites than an even share: {proof}."
    if name == "change":
        return f"Change: {aim['final']} points away from the plan before: {proof}."
    return f"{RANKS.get(name, 'Wishes')}: {aim['final']} walks short: {proof}."
