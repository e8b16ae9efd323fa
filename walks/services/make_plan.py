"""Make the next season plan that somebody asked for: the search runs outside any transaction."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, time

from foraywright.floor.acts import act
from foraywright.floor.leases import LEASE, claim, finish, put_off
from walks.compute.season_plan.facts import Fixed, Proposal, Season, Span, start_on
from walks.compute.season_plan.obstacles import Obstacle, obstacles
from walks.compute.season_plan.solve import SeasonPlan as Solved
from walks.compute.season_plan.solve import solve
from walks.models import Guide, PlanProposal, SeasonPlan, Site, Theme
from walks.season_inputs import season_of
from walks.season_wanted import Wanted, wanted_from

State = PlanProposal.State
LIMIT = 30.0


def make_next_plan(*, now: datetime) -> SeasonPlan | None:
    """Claim the next plan and make it; None where none is due. A fault is put off, and staff see it."""
    plan = claim(SeasonPlan, now=now)
    if plan is None:
        return None
    try:
        make_plan(plan, now=now)
    except Exception as fault:
        put_off(plan, type(fault).__name__, now=now)
        raise
    return plan


def make_plan(plan: SeasonPlan, *, now: datetime) -> None:
    """Search, say on the way how far it is, and keep what was found."""
    wanted = wanted_from(plan.asked)
    season = season_for(plan, wanted)

    def progress(done: int, of: int) -> None:
        SeasonPlan.objects.filter(pk=plan.pk).update(steps_done=done, steps=of, lease_until=now + LEASE * (done + 2))

    solved = solve(season, limit=LIMIT, progress=progress)
    _keep(plan, wanted, season, solved, obstacles(season, solved.proposals), now=now)


def season_for(plan: SeasonPlan, wanted: Wanted) -> Season:
    """The season with what people decided in this plan and proposed in the one before."""
    season = season_of(Span(plan.first_day, plan.last_day), wanted)
    rows = list(plan.proposals.select_related("site", "theme", "guide"))
    pinned = tuple(_fixed(one) for one in rows if one.state == State.PINNED)
    refused = frozenset(
        (one.theme.public_id, one.site.public_id, one.local_date) for one in rows if one.state == State.DROPPED
    )
    before = plan.before.proposals.filter(state=State.PROPOSED) if plan.before else PlanProposal.objects.none()
    within = before.filter(local_date__range=(plan.first_day, plan.last_day))
    earlier = tuple(_proposal(one) for one in within.select_related("site", "theme", "guide"))
    return replace(season, fixed=season.fixed + pinned, refused=refused, earlier=earlier)


def _fixed(one: PlanProposal) -> Fixed:
    return Fixed(one.theme.public_id, one.site.public_id, one.local_date, (one.guide.public_id,), one.worth)


def _proposal(one: PlanProposal) -> Proposal:
    return Proposal(one.local_date, one.site.public_id, one.theme.public_id, one.guide.public_id)


@act
def _keep(
    plan: SeasonPlan,
    wanted: Wanted,
    season: Season,
    solved: Solved,
    unmet: Sequence[Obstacle],
    *,
    now: datetime,
) -> None:
    """Write the proposals. The row is locked: a worker whose lease ran out may have been quicker."""
    plan = SeasonPlan.objects.select_for_update().get(pk=plan.pk)
    if plan.done_at is not None:
        return
    plan.result = result_of(season, solved, unmet)
    plan.save(update_fields=["result"])
    PlanProposal.objects.bulk_create(_rows(plan, wanted, season, solved.proposals))
    finish(plan, now=now)


def _rows(plan: SeasonPlan, wanted: Wanted, season: Season, proposals: Sequence[Proposal]) -> list[PlanProposal]:
    themes = {one.key: one for one in season.themes}
    places = {one.key: one for one in season.sites}
    sites, guides, subjects = (_by_public_id(model) for model in (Site, Guide, Theme))
    rows = []
    for one in proposals:
        start = start_on(themes[one.theme], places[one.site], one.day, season.start) or 0
        rows.append(
            PlanProposal(
                plan=plan,
                local_date=one.day,
                local_time=time(*divmod(start, 60)),
                minutes=wanted.minutes,
                site_id=sites[one.site],
                theme_id=subjects[one.theme],
                guide_id=guides[one.guide],
                worth=season.worth[one.theme, one.site, one.day],
            )
        )
    return rows


def _by_public_id(model: type[Site] | type[Guide] | type[Theme]) -> dict[str, int]:
    return dict(model._default_manager.values_list("public_id", "pk"))


def result_of(season: Season, solved: Solved, unmet: Sequence[Obstacle]) -> dict[str, object]:
    """What came of it, as JSON: each aim with cost, bound and gap, what could not be met, the season of each site."""
    return {
        "aims": [
            {"aim": one.name, "cost": one.cost, "bound": one.bound, "gap": round(one.gap, 6), "proven": one.proven,
             "final": one.final}
            for one in solved.aims
        ],
        "unmet": [{"wish": one.wish.words, "missing": one.missing, "rules": list(one.rules), "sentence": one.sentence}
                  for one in unmet],
        "seasons": {site.key: site_season(season, site.key) for site in season.sites},
    }  # fmt: skip


def site_season(season: Season, site: str) -> list[int]:
    """By week of the window, the most that any theme is worth at the site, in thousandths."""
    best: dict[int, int] = {}
    for (_, place, day), worth in season.worth.items():
        if place == site:
            week = (day - season.window.first).days // 7
            best[week] = max(best.get(week, 0), worth)
    weeks = (season.window.last - season.window.first).days // 7 + 1
    return [best.get(week, 0) for week in range(weeks)]
