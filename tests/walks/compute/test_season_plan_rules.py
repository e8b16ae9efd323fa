"""Each hard rule by name: a season in which it alone forbids, and the solver, the checker and the words know it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta

import pytest

from tests.walks.compute.seasons import FIRST, leave, season, span
from walks.compute.closed_seasons import ClosedSeason
from walks.compute.season_plan.check import broken_rules
from walks.compute.season_plan.facts import (
    Fixed,
    PlanTheme,
    Proposal,
    Season,
    Wish,
    start_on,
)
from walks.compute.season_plan.obstacles import filtered, obstacles
from walks.compute.season_plan.rules import words_of
from walks.compute.season_plan.solve import solve

WANTED = Wish("spring", 1, "two on spring greens", 2, themes=frozenset({"spring"}))
DAYS = [FIRST + timedelta(n) for n in range(3)]
ALWAYS = [Proposal(day, "wood", "spring", "ines") for day in DAYS]


def with_site(**changes: object) -> Season:
    one = season(3, wishes=(WANTED,))
    return replace(one, sites=(replace(one.sites[0], **changes),))


def with_guide(**changes: object) -> Season:
    one = season(3, wishes=(WANTED,))
    return replace(one, guides=(replace(one.guides[0], **changes),))


def with_theme(**changes: object) -> Season:
    one = season(3, wishes=(WANTED,))
    return replace(one, themes=(replace(one.themes[0], **changes),))


def changed(**changes: object) -> Season:
    return season(3, **{"wishes": (WANTED,), **changes})


ONE_DAY_LEFT = (span(1, 1),)
CASES = {
    "weekdays": changed(weekdays=frozenset({0})),
    "insurance": changed(insured=ONE_DAY_LEFT),
    "refused": changed(refused=frozenset(("spring", "wood", day) for day in DAYS[1:])),
    "most_a_week": changed(most_a_week=1),
    "most_walks": changed(most_walks=1),
    "permission:wood": with_site(permissions=(leave(span(1, 1)),)),
    "days_a_year:wood:2027": with_site(permissions=(leave(span(0, 2), days_a_year=1),)),
    "closed:wood": with_site(permissions=(leave(span(0, 2), closed=(ClosedSeason((3, 2), (2, 1)),)),)),
    "rest:wood": with_site(rest=7),
    "leads:ines": with_guide(leads=frozenset()),
    "certificates:ines": with_guide(papers=(ONE_DAY_LEFT, (span(0, 9),))),
    "absent:ines": with_guide(absences=(span(0, 1),)),
    "days_a_week:ines": with_guide(days_a_week=1),
    "suits:spring": with_theme(sites=frozenset()),
    "in_season:spring": changed(worth={("spring", "wood", DAYS[0]): 1000, ("spring", "wood", DAYS[1]): 499}),
    "light:spring": with_site(light={DAYS[0]: (360, 1200), DAYS[1]: (700, 879)}),
    "most:spring": with_theme(most=1),
}


@pytest.mark.parametrize("rule", CASES)
def test_the_plan_keeps_it_and_the_checker_names_it(rule: str) -> None:
    one = CASES[rule]
    assert broken_rules(one, ALWAYS) == [rule]
    plan = solve(one)
    assert len(plan.proposals) < 2
    assert broken_rules(one, plan.proposals) == []


@pytest.mark.parametrize("rule", CASES)
def test_it_is_what_stands_in_the_way(rule: str) -> None:
    one = CASES[rule]
    (found,) = obstacles(one, solve(one).proposals)
    assert found.rules == (rule,)
    assert words_of(one)[rule] in found.sentence


def test_nobody_leads_two_walks_on_a_day() -> None:
    one = season(1, wishes=(WANTED,))
    two = replace(one, sites=(*one.sites, replace(one.sites[0], key="shore")),
                  worth=one.worth | {("spring", "shore", FIRST): 1000})  # fmt: skip
    both = [Proposal(FIRST, key, "spring", "ines") for key in ("wood", "shore")]
    assert broken_rules(two, both) == ["once_a_day:ines"]
    assert len(solve(two).proposals) == 1
    (found,) = obstacles(two, solve(two).proposals)
    assert found.rules == ("once_a_day:ines",)


def test_a_fixed_walk_keeps_its_guide_and_its_site_that_day() -> None:
    fixed = Fixed("spring", "wood", FIRST, ("ines",))
    assert broken_rules(season(1, fixed=(fixed,)), ALWAYS[:1]) == ["once_a_day:ines", "rest:wood"]


def test_a_day_outside_the_window_is_named() -> None:
    assert "window" in broken_rules(season(2), ALWAYS)


def test_walks_outside_the_window_count_for_the_year_the_rest_and_the_week_only() -> None:
    before = Fixed("spring", "wood", FIRST - timedelta(1), ("ines",))
    assert broken_rules(with_site(rest=3), ALWAYS[1:2]) == []
    assert broken_rules(replace(with_site(rest=3), fixed=(before,)), ALWAYS[1:2]) == ["rest:wood"]
    yearly = with_site(permissions=(leave(span(-9, 2), days_a_year=1),))
    assert solve(replace(yearly, fixed=(before,))).proposals == ()
    assert len(solve(replace(with_theme(most=1), fixed=(before,))).proposals) == 1


@pytest.mark.parametrize(
    ("light", "by_night", "start"),
    [((360, 1200), False, 600), ((360, 700), False, 520), ((660, 1200), False, 660), ((600, 779), False, None),
     ((360, 1200), True, 1200), ((360, 1300), True, None)],
)  # fmt: skip
def test_a_walk_begins_as_wished_or_as_the_light_asks(
    light: tuple[int, int], by_night: bool, start: int | None
) -> None:
    one = season(1)
    site = replace(one.sites[0], light={FIRST: light})
    theme = PlanTheme("spring", "Spring", 9, minutes=180, by_night=by_night)
    assert start_on(theme, site, FIRST, 600) == start


def test_rules_that_only_together_forbid_are_named_together() -> None:
    one = season(14, wishes=(replace(WANTED, least=3),), most_a_week=1)
    (found,) = obstacles(one, solve(one).proposals)
    assert found.rules == ("most_a_week",)
    away = replace(one.guides[0], days_a_week=2, absences=(span(0, 5),))
    two = replace(one, most_a_week=2, wishes=(replace(WANTED, least=4),), guides=(away,))
    (found,) = obstacles(two, solve(two).proposals)
    assert set(found.rules) in ({"absent:ines", "most_a_week"}, {"absent:ines", "days_a_week:ines"})


def test_wishes_in_each_others_way_are_named() -> None:
    themes = tuple(PlanTheme(key, key, 9) for key in ("spring", "autumn"))
    worth = {(key, "wood", day): 1000 for key in ("spring", "autumn") for day in DAYS}
    wishes = (WANTED, Wish("autumn", 2, "two on autumn", 2, themes=frozenset({"autumn"})))
    one = season(3, themes=themes, worth=worth, wishes=wishes)
    (found,) = obstacles(one, solve(one).proposals)
    assert found.wish.key == "autumn"
    assert set(found.rules) in ({"rest:wood", "wish:spring"}, {"once_a_day:ines", "wish:spring"})
    assert "the wish “two on spring greens”" in found.sentence


def test_what_nothing_forbids_is_said_so() -> None:
    (found,) = obstacles(season(3, wishes=(WANTED,)), [])
    assert found.rules == ()
    assert "longer search" in found.sentence


@pytest.mark.parametrize("needed", [(), (3,), (0, 7), (2, 3, 4), tuple(range(8))])
def test_the_filter_finds_the_set_that_is_needed(needed: Sequence[int]) -> None:
    rules, wanted = [str(n) for n in range(8)], {str(n) for n in needed}
    assert set(filtered(rules, lambda some: bool(wanted) and wanted <= set(some))) == wanted


def test_a_wish_for_guides_and_something_else_is_refused() -> None:
    with pytest.raises(ValueError, match="names guides"):
        Wish("x", 1, "x", 1, guides=frozenset({"ines"}), sites=frozenset({"wood"}))


def test_a_wish_for_days_that_the_plan_does_not_hold_is_impossible_by_its_dates() -> None:
    one = season(3, wishes=(replace(WANTED, days=(span(10, 20),)),))
    (found,) = obstacles(one, solve(one).proposals)
    assert found.rules == ("window",)
