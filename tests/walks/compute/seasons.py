"""Small seasons to plan: one that nothing is wrong with, and random ones that can be enumerated."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import product
from random import Random

from walks.compute.permission_rules import Permission
from walks.compute.season_plan.facts import (
    Fixed,
    PlanGuide,
    PlanSite,
    PlanTheme,
    Proposal,
    Season,
    Span,
    Wish,
)
from walks.compute.season_plan.rules import guide_and_time, place_and_time

FIRST = date(2027, 3, 1)
"""A Monday."""


def span(first: int, last: int) -> Span:
    """Days by their number in the window, 0 = FIRST."""
    return Span(FIRST + timedelta(first), FIRST + timedelta(last))


def leave(days: Span, **changes: object) -> Permission:
    """The landowner's leave on those days."""
    return Permission(days.first, days.last, 20, **changes)  # type: ignore[arg-type]


def season(days: int = 14, **changes: object) -> Season:
    """One wood, one guide, one theme, light and papers every day, every walk worth 1000."""
    window = span(0, days - 1)
    light = dict.fromkeys(window.days(), (360, 1200))
    whole = Season(
        window=window,
        sites=(PlanSite("wood", "The wood", (leave(window),), light=light),),
        guides=(PlanGuide("ines", "Ines", 7, ((window,),)),),
        themes=(PlanTheme("spring", "Spring greens", 99),),
        worth={("spring", "wood", day): 1000 for day in window.days()},
        insured=(window,),
        most_walks=99,
        most_a_week=99,
        site_target=99,
    )
    return replace(whole, **changes)  # type: ignore[arg-type]


def candidates(one: Season) -> list[Proposal]:
    """Every walk that no rule forbids on its own, by plain enumeration."""
    every = product(one.window.days(), one.sites, one.themes, one.guides)
    return [
        Proposal(day, site.key, theme.key, guide.key)
        for day, site, theme, guide in every
        if not [*place_and_time(one, theme, site, day), *guide_and_time(one, theme, guide, day)]
    ]


def random_season(seed: int, most_candidates: int = 14) -> Season:
    """A season of two sites, guides and themes each with at most so many candidates."""
    dice = Random(seed)
    while True:
        one = _random_season(dice)
        if 1 <= len(candidates(one)) <= most_candidates:
            return one


def _random_season(dice: Random) -> Season:
    window = span(0, dice.choice([6, 9, 13]))
    days = list(window.days())
    light = dict.fromkeys(days, (360, 1200))
    permission = leave(window, days_a_year=dice.choice([None, 1, 2, 3]))
    sites = tuple(
        PlanSite(key, key, (permission,), rest=dice.choice([1, 2, 5]), light=light) for key in ("wood", "shore")
    )
    leads = [None, frozenset({"spring"}), frozenset({"autumn"})]
    guides = tuple(PlanGuide(key, key, dice.choice([1, 2]), leads=dice.choice(leads)) for key in ("ines", "olga"))
    themes = tuple(PlanTheme(key, key, dice.choice([1, 2, 4])) for key in ("spring", "autumn"))
    places = list(product(("spring", "autumn"), ("wood", "shore"), days))
    worth = {place: dice.randint(500, 3000) for place in dice.sample(places, dice.randint(1, 7))}
    proposals = [Proposal(day, site, theme, dice.choice(["ines", "olga"])) for theme, site, day in worth]
    return Season(
        window=window,
        sites=sites,
        guides=guides,
        themes=themes,
        worth=worth,
        insured=(window,),
        most_walks=dice.choice([2, 3, 5]),
        most_a_week=dice.choice([1, 2, 4]),
        site_target=dice.choice([1, 2]),
        wishes=_wishes(dice, window),
        fixed=tuple(_fixed(dice, days) for _ in range(dice.choice([0, 0, 1]))),
        earlier=tuple(_shaken(dice, one, days) for one in proposals[: dice.choice([0, 2, 3])]),
    )


def _wishes(dice: Random, window: Span) -> tuple[Wish, ...]:
    some = Wish("spring", 1, "two on spring", 2, themes=frozenset({"spring"}))
    late = (replace(window, first=FIRST + timedelta(3)),)
    shore = Wish("shore", 2, "two on the shore late", 2, sites=frozenset({"shore"}), days=late)
    ines = Wish("ines", 2, "two for Ines", 2, guides=frozenset({"ines"}))
    return tuple(one for one in (some, shore, ines) if dice.random() < 0.6)


def _fixed(dice: Random, days: list[date]) -> Fixed:
    return Fixed("spring", dice.choice(["wood", "shore"]), dice.choice(days), ("olga",), dice.randint(0, 3000))


def _shaken(dice: Random, one: Proposal, days: list[date]) -> Proposal:
    return replace(one, day=dice.choice([one.day, dice.choice(days)]), guide=dice.choice(["ines", "olga"]))
