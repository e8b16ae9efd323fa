"""The season plan: proven small, near the bound large, worth against a greedy plan, time against the bare model.

The bare model has one variable a candidate (theme, site, day, guide) and the rules as they are said. The greedy plan
takes the candidate of the greatest worth that no rule forbids, again and again.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from itertools import product
from random import Random
from time import process_time

from ortools.sat.python import cp_model

from walks.compute.permission_rules import Permission
from walks.compute.season_plan.check import broken_rules
from walks.compute.season_plan.facts import PlanGuide, PlanSite, PlanTheme, Proposal, Season, Span, week_of
from walks.compute.season_plan.measure import worth
from walks.compute.season_plan.model import FULL, FULL_WALKS, LATER
from walks.compute.season_plan.rules import guide_and_time, place_and_time
from walks.compute.season_plan.solve import solve

FIRST = date(2027, 3, 1)
SMALL = {"themes": 6, "sites": 6, "guides": 3, "days": 110, "walks": 60, "a_week": 5}
LARGE = {"themes": 10, "sites": 9, "guides": 5, "days": 300, "walks": 200, "a_week": 6}
LIMIT = 120.0


def lines() -> Iterator[str]:
    """Both sizes; the comparisons on the small one."""
    small = made(**SMALL)
    yield from _solved("60 walks", small, LIMIT)
    yield from _compared(small)
    yield from _against_greed()
    yield from _solved("200 walks", made(**LARGE), LIMIT)


def _solved(what: str, season: Season, limit: float) -> Iterator[str]:
    begin = process_time()
    plan = solve(season, limit=limit)
    assert broken_rules(season, plan.proposals) == []
    (aim,) = (one for one in plan.aims if one.name == "worth")
    proof = "proven" if aim.proven else f"gap {aim.gap:.2%}"
    yield (
        f"season plan: {len(plan.proposals)} of {what} from {len(candidates(season))} candidates: worth {-aim.cost}, "
        f"bound {-aim.bound}, {proof}, all aims in {process_time() - begin:.1f} s"
    )


def _compared(season: Season) -> Iterator[str]:
    every = candidates(season)
    best = -next(one.cost for one in solve(season).aims if one.name == "worth")
    by_greed = worth(season, greedy(season, every))
    yield f"  a greedy plan reaches {by_greed / best:.1%} of that worth"
    begin = process_time()
    _solve_alone(season)
    ours = process_time() - begin
    begin = process_time()
    found, bound = bare(season, every, LIMIT)
    bare_time = process_time() - begin
    ratio = f"{bare_time / ours:.1f} times ours ({ours:.1f} s)"
    yield f"  the bare model: {found} (bound {bound}) in {bare_time:.1f} s, {ratio}"


def _against_greed() -> Iterator[str]:
    for seed in (1, 2):
        season = knotty(seed)
        best = -next(one.cost for one in solve(season).aims if one.name == "worth")
        by_greed = worth(season, greedy(season, candidates(season)))
        lost = 1 - by_greed / best
        yield f"  where guides and days are scarce (seed {seed}) a greedy plan stays {lost:.1%} below the optimum"


def knotty(seed: int) -> Season:
    """A season of scarce guides and days in which each theme suits two sites: what one walk takes another lacks."""
    season = made(themes=6, sites=6, guides=2, days=110, walks=60, a_week=4, seed=seed)
    leave = Permission(season.window.first, season.window.last, 20, 8)
    themes = tuple(
        replace(one, most=12, sites=frozenset({f"s{number}", f"s{(number + 1) % 6}"}))
        for number, one in enumerate(season.themes)
    )
    guides = tuple(
        replace(one, days_a_week=2, leads=frozenset(theme.key for n, theme in enumerate(themes) if n % 3 != number))
        for number, one in enumerate(season.guides)
    )
    sites = tuple(replace(one, permissions=(leave,), rest=7) for one in season.sites)
    return replace(season, themes=themes, guides=guides, sites=sites)


def _solve_alone(season: Season) -> object:
    """The worth alone: a target that no plan can exceed leaves nothing to spread."""
    return solve(replace(season, site_target=season.most_walks))


def made(themes: int, sites: int, guides: int, days: int, walks: int, a_week: int, seed: int = 1) -> Season:
    """A season with curves that swell and fade, the same every time."""
    dice = Random(seed)
    window = Span(FIRST, FIRST + timedelta(days - 1))
    light = dict.fromkeys(window.days(), (360, 1200))
    leave = Permission(window.first, window.last, 20, math.ceil(1.3 * walks / sites))
    plan_themes = tuple(PlanTheme(f"t{n}", f"Theme {n}", math.ceil(1.5 * walks / themes)) for n in range(themes))
    return Season(
        window=window,
        sites=tuple(PlanSite(f"s{n}", f"Site {n}", (leave,), rest=3, light=light) for n in range(sites)),
        guides=tuple(_guide(n, plan_themes, dice) for n in range(guides)),
        themes=plan_themes,
        worth=dict(_worth(window, plan_themes, sites, dice)),
        insured=(window,),
        most_walks=walks,
        most_a_week=a_week,
        site_target=-(-walks // sites),
        least_worth=200,
    )


def _guide(number: int, themes: tuple[PlanTheme, ...], dice: Random) -> PlanGuide:
    away = Span(FIRST + timedelta(20 * number + 10), FIRST + timedelta(20 * number + 20))
    some = frozenset(one.key for one in themes if dice.random() < 0.7)
    return PlanGuide(f"g{number}", f"Guide {number}", 3, absences=(away,), leads=some if number % 2 else None)


def _worth(
    window: Span, themes: tuple[PlanTheme, ...], sites: int, dice: Random
) -> Iterator[tuple[tuple[str, str, date], int]]:
    days = list(window.days())
    for theme in themes:
        curves = [(dice.uniform(0, len(days)), dice.uniform(20, 60), dice.uniform(0.3, 0.9)) for _ in range(8)]
        for site in range(sites):
            fits = [dice.choice([1, 1, 0.5, 0.05]) for _ in curves]
            for number, day in enumerate(days):
                chances = (
                    fit * height * math.exp(-(((number - peak) / width) ** 2))
                    for fit, (peak, width, height) in zip(fits, curves, strict=True)
                )
                yield (theme.key, f"s{site}", day), sum(round(1000 * one) for one in chances)


def candidates(season: Season) -> list[Proposal]:
    """Every candidate that no rule forbids on its own."""
    led = {
        (theme.key, day): [guide.key for guide in season.guides if not [*guide_and_time(season, theme, guide, day)]]
        for theme, day in product(season.themes, season.window.days())
    }
    return [
        Proposal(day, site.key, theme.key, guide)
        for theme, site, day in product(season.themes, season.sites, season.window.days())
        if led[theme.key, day] and not [*place_and_time(season, theme, site, day)]
        for guide in led[theme.key, day]
    ]


def greedy(season: Season, every: list[Proposal]) -> list[Proposal]:
    """The greatest worth first, halved from a theme's third walk on."""
    left, taken = sorted(every), list[Proposal]()
    held: dict[str, int] = defaultdict(int)
    while left:
        best = max(left, key=lambda one: season.worth[one.theme, one.site, one.day] * _weight(held[one.theme]))
        if broken_rules(season, [*taken, best]):
            left.remove(best)
            continue
        taken.append(best)
        held[best.theme] += 1
        left = [one for one in left if one.day != best.day or (one.site != best.site and one.guide != best.guide)]
    return taken


def _weight(held: int) -> int:
    return FULL if held < FULL_WALKS else LATER


def bare(season: Season, every: list[Proposal], limit: float) -> tuple[int, int]:
    """The worth found and its bound with one variable a candidate."""
    model = cp_model.CpModel()
    chosen = {one: model.new_bool_var("") for one in every}
    full = {one: model.new_bool_var("") for one in every}
    for one in every:
        model.add_implication(full[one], chosen[one])
    for rule, most in _bare_limits(season, every):
        model.add(sum(chosen[one] for one in rule) <= most)
    for theme in season.themes:
        model.add(sum(full[one] for one in every if one.theme == theme.key) <= FULL_WALKS)
    model.maximize(sum(season.worth[one.theme, one.site, one.day] * (chosen[one] + full[one]) for one in every))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    solver.parameters.max_deterministic_time = limit
    solver.solve(model)
    return round(solver.objective_value), round(solver.best_objective_bound)


def _bare_limits(season: Season, every: list[Proposal]) -> Iterator[tuple[list[Proposal], int]]:
    groups: dict[tuple[object, ...], list[Proposal]] = defaultdict(list)
    most: dict[tuple[object, ...], int] = {("all",): season.most_walks}
    for one in every:
        for key, limit in _keys(season, one):
            groups[key].append(one)
            most[key] = limit
    yield from ((some, most[key]) for key, some in groups.items())


def _keys(season: Season, one: Proposal) -> Iterator[tuple[tuple[object, ...], int]]:
    site = next(some for some in season.sites if some.key == one.site)
    yield ("all",), season.most_walks
    yield ("theme", one.theme), next(some.most for some in season.themes if some.key == one.theme)
    yield ("week", week_of(one.day)), season.most_a_week
    yield ("guide", one.guide, one.day), 1
    yield ("guide week", one.guide, week_of(one.day)), 3
    yield ("year", one.site), site.permissions[0].days_a_year or 0
    for back in range(site.rest):
        yield ("rest", one.site, one.day - timedelta(back)), 1
