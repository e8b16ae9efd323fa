"""Does a plan keep every hard rule? Counted from the proposals alone, without the solver's variables."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import date
from itertools import combinations

from walks.compute.permission_rules import Permission
from walks.compute.season_plan import rules
from walks.compute.season_plan.facts import Fixed, PlanSite, Proposal, Season, week_of


def broken_rules(season: Season, proposals: Sequence[Proposal]) -> list[str]:
    """Names of the hard rules that the proposals break beside the fixed walks; empty for a plan that may be shown."""
    return sorted({*_alone(season, proposals), *_sites(season, proposals), *_guides(season, proposals)}
                  | {*_numbers(season, proposals)})  # fmt: skip


def _alone(season: Season, proposals: Sequence[Proposal]) -> Iterator[str]:
    sites, guides, themes = ({one.key: one for one in some} for some in (season.sites, season.guides, season.themes))
    for one in proposals:
        yield from rules.place_and_time(season, themes[one.theme], sites[one.site], one.day)  # type: ignore[arg-type]
        yield from rules.guide_and_time(season, themes[one.theme], guides[one.guide], one.day)  # type: ignore[arg-type]
        if one.day not in season.window:
            yield rules.WINDOW


def _sites(season: Season, proposals: Sequence[Proposal]) -> Iterator[str]:
    for site in season.sites:
        days = [one.day for one in proposals if one.site == site.key]
        if any(abs((one - other).days) < max(site.rest, 1) for one, other in combinations(days, 2)):
            yield f"rest:{site.key}"
        held = [one.day for one in season.fixed if one.site == site.key]
        for permission in site.permissions:
            yield from _days_a_year(site, permission, set(held), days)


def _days_a_year(site: PlanSite, permission: Permission, held: set[date], days: Sequence[date]) -> Iterator[str]:
    if permission.days_a_year is None:
        return
    for year in {day.year for day in days if permission.in_force(day)}:
        new = [day for day in days if day.year == year and permission.in_force(day)]
        old = [day for day in held if day.year == year and permission.in_force(day)]
        if len(new) + len(old) > permission.days_a_year:
            yield f"days_a_year:{site.key}:{year}"


def _guides(season: Season, proposals: Sequence[Proposal]) -> Iterator[str]:
    for guide in season.guides:
        new = [one.day for one in proposals if one.guide == guide.key]
        if len(set(new)) < len(new):
            yield f"once_a_day:{guide.key}"
        out = {*new, *(one.day for one in season.fixed if guide.key in one.guides)}
        weeks = Counter(week_of(day) for day in out)
        if any(weeks[week_of(day)] > guide.days_a_week for day in new):
            yield f"days_a_week:{guide.key}"


def _numbers(season: Season, proposals: Sequence[Proposal]) -> Iterator[str]:
    held: list[Fixed | Proposal] = [*season.held, *proposals]
    for theme, count in Counter(one.theme for one in held).items():
        most = next((one.most for one in season.themes if one.key == theme), count)
        if count > most and any(one.theme == theme for one in proposals):
            yield f"most:{theme}"
    weeks = Counter(week_of(day) for day in [one.day for one in season.fixed] + [one.day for one in proposals])
    if any(weeks[week_of(one.day)] > season.most_a_week for one in proposals):
        yield rules.WEEK
    if proposals and len(held) > season.most_walks:
        yield rules.MOST
