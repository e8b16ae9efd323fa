"""The season plan against plain enumeration, and what it promises of change and of itself."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import timedelta
from itertools import permutations
from random import Random

import pytest

from tests.walks.compute.seasons import FIRST, candidates, random_season, season, span
from walks.compute.season_plan.change import DROPPED, OTHER_GUIDE, change, moved
from walks.compute.season_plan.check import broken_rules
from walks.compute.season_plan.facts import Fixed, PlanGuide, PlanTheme, Proposal, Season, Wish
from walks.compute.season_plan.measure import aims, cost, worth
from walks.compute.season_plan.solve import ALLOWANCE, solve

INSTANCES, SLICES = 200, 8


def every_plan(one: Season) -> Iterator[tuple[Proposal, ...]]:
    """All sets of candidates that keep the rules. Leaving a walk out never breaks one, so broken sets are not grown."""

    def grown(plan: tuple[Proposal, ...], left: Sequence[Proposal]) -> Iterator[tuple[Proposal, ...]]:
        yield plan
        for number, walk in enumerate(left):
            if not broken_rules(one, (*plan, walk)):
                yield from grown((*plan, walk), left[number + 1 :])

    yield from grown((), candidates(one))


def best_costs(one: Season) -> list[int]:
    """What each aim reaches in turn, by looking at every plan."""
    plans, reached = list(every_plan(one)), []
    for aim in aims(one):
        costs = {plan: cost(one, plan, aim) for plan in plans}
        best = min(costs.values())
        reached.append(best)
        plans = [plan for plan in plans if costs[plan] <= best + abs(best) * ALLOWANCE // 1000]
    return reached


@pytest.mark.parametrize("part", range(SLICES))
def test_agrees_with_enumeration(part: int) -> None:
    seen = 0
    for seed in range(part, INSTANCES, SLICES):
        one = random_season(seed)
        plan = solve(one)
        assert broken_rules(one, plan.proposals) == [], seed
        assert [aim.cost for aim in plan.aims] == best_costs(one), seed
        assert all(aim.proven for aim in plan.aims), seed
        assert [aim.final for aim in plan.aims] == [cost(one, plan.proposals, aim) for aim in aims(one)], seed
        seen += 1
    assert seen == INSTANCES // SLICES


def test_later_aims_take_at_most_half_a_per_cent() -> None:
    for seed in range(20):
        for aim in solve(random_season(seed)).aims:
            assert aim.final <= aim.cost + abs(aim.cost) * ALLOWANCE // 1000


def test_the_same_season_gives_the_same_plan() -> None:
    one = season(21, most_walks=5, site_target=2)
    assert solve(one) == solve(one)


def test_two_walks_of_a_theme_count_fully_and_those_after_half() -> None:
    one = season(3, worth={("spring", "wood", FIRST + timedelta(n)): 1000 * (n + 1) for n in range(3)})
    plan = solve(one)
    assert len(plan.proposals) == 3
    assert worth(one, plan.proposals) == 2 * (3000 + 2000) + 1000


def test_concave_worth_turns_to_another_theme() -> None:
    """A third walk of 1500 counts 750, so one of 1000 on a second theme is better."""
    days = [FIRST + timedelta(n) for n in range(4)]
    rich = {("spring", "wood", day): 1500 for day in days}
    one = season(4, themes=(PlanTheme("spring", "Spring", 9), PlanTheme("autumn", "Autumn", 9)), most_walks=3,
                 worth=rich | {("autumn", "wood", day): 1000 for day in days})  # fmt: skip
    assert sorted(walk.theme for walk in solve(one).proposals) == ["autumn", "spring", "spring"]


def test_a_wish_outweighs_any_worth_and_rank_one_outweighs_rank_two() -> None:
    days = [FIRST + timedelta(n) for n in range(4)]
    poor = {("autumn", "wood", day): 500 for day in days}
    wishes = (
        Wish("a", 1, "one on autumn", 1, themes=frozenset({"autumn"})),
        Wish("b", 2, "two on spring", 2, themes=frozenset({"spring"})),
    )
    one = season(4, themes=(PlanTheme("spring", "Spring", 9), PlanTheme("autumn", "Autumn", 9)), most_walks=2,
                 wishes=wishes, worth={("spring", "wood", day): 3000 for day in days} | poor)  # fmt: skip
    plan = solve(one)
    assert sorted(walk.theme for walk in plan.proposals) == ["autumn", "spring"]
    assert [aim.cost for aim in plan.aims[:2]] == [0, 1]


def test_fixed_walks_stay_and_use_up_the_limits() -> None:
    fixed = Fixed("spring", "wood", FIRST + timedelta(2), ("ines",), 1000)
    one = season(7, fixed=(fixed,), most_walks=3, guides=(PlanGuide("ines", "Ines", 2),))
    plan = solve(one)
    assert len(plan.proposals) == 1
    assert plan.proposals[0].day != fixed.day


def test_fixed_walks_beyond_a_limit_leave_a_plan_all_the_same() -> None:
    fixed = tuple(Fixed("spring", "wood", FIRST + timedelta(n), ("ines",)) for n in range(3))
    assert solve(season(7, fixed=fixed, most_walks=2)).proposals == ()


def test_running_again_unchanged_changes_nothing() -> None:
    for seed in range(10):
        one = replace(random_season(seed), earlier=())
        before = solve(one).proposals
        assert change(before, solve(replace(one, earlier=before)).proposals) == 0


def test_an_absence_moves_only_what_it_must() -> None:
    one = season(28, most_a_week=1, themes=(PlanTheme("spring", "Spring", 4),))
    before = solve(one).proposals
    away = (span(0, 6),)
    after = solve(replace(one, earlier=before, guides=(replace(one.guides[0], absences=away),))).proposals
    assert set(before[1:]) <= set(after)


def second_change(earlier: Sequence[Proposal], now: Sequence[Proposal]) -> int:
    """The definition by trying every matching."""
    slots = [*now, *[None] * len(earlier)]
    return min(
        sum(_pair(old, new) for old, new in zip(earlier, chosen, strict=True))
        for chosen in permutations(slots, len(earlier))
    )


def _pair(old: Proposal, new: Proposal | None) -> int:
    if new is None or (old.theme != new.theme and old.site != new.site) or abs((old.day - new.day).days) > 14:
        return DROPPED
    cost = abs((old.day - new.day).days) + 10 * (old.theme != new.theme or old.site != new.site)
    return cost + OTHER_GUIDE * (old.guide != new.guide)


def test_change_is_that_of_the_cheapest_matching() -> None:
    dice = Random(5)
    for _ in range(60):
        old, new = ([_any(dice) for _ in range(dice.randint(0, 3))] for _ in range(2))
        assert change(old, new) == second_change(old, new)


def _any(dice: Random) -> Proposal:
    day = FIRST + timedelta(dice.randint(0, 30))
    return Proposal(
        day, dice.choice(["wood", "shore"]), dice.choice(["spring", "autumn"]), dice.choice(["ines", "olga"])
    )


@pytest.mark.parametrize(
    ("theme", "site", "days", "expected"),
    [("spring", "wood", 0, 0), ("spring", "wood", 14, 14), ("spring", "wood", 15, None), ("spring", "shore", 2, 12),
     ("autumn", "wood", 0, 10), ("autumn", "shore", 0, None)],
)  # fmt: skip
def test_cost_of_a_move(theme: str, site: str, days: int, expected: int | None) -> None:
    assert moved(Proposal(FIRST, "wood", "spring", "ines"), theme, site, FIRST + timedelta(days)) == expected


def test_progress_is_told_aim_by_aim() -> None:
    told: list[tuple[int, int]] = []
    solve(season(3), progress=lambda done, of: told.append((done, of)))
    assert told == [(0, 2), (1, 2), (2, 2)]
