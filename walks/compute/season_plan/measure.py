"""What a plan is worth, counted without the solver: the four aims, all to be made small."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from datetime import date

from walks.compute.season_plan.change import change
from walks.compute.season_plan.facts import Proposal, Season, Wish
from walks.compute.season_plan.model import FULL, FULL_WALKS, LATER

Walk = tuple[str, str, date, tuple[str, ...]]


def walks_of(season: Season, proposals: Sequence[Proposal]) -> list[Walk]:
    """Fixed walks and proposals alike: theme, site, day, guides."""
    fixed = [(one.theme, one.site, one.day, one.guides) for one in season.held]
    return fixed + [(one.theme, one.site, one.day, (one.guide,)) for one in proposals]


def missing(season: Season, proposals: Sequence[Proposal], wish: Wish) -> int:
    """How many walks the plan is short of the wish."""
    return max(0, wish.least - sum(wish.counts(*one) for one in walks_of(season, proposals)))


def broken(season: Season, proposals: Sequence[Proposal], rank: int) -> int:
    """How many walks the plan is short of all wishes of a rank."""
    return sum(missing(season, proposals, wish) for wish in season.wishes if wish.rank == rank)


def worth(season: Season, proposals: Sequence[Proposal]) -> int:
    """Expected wanted species in half thousandths: a theme's two best walks count fully, the others half."""
    by_theme: dict[str, list[int]] = defaultdict(list)
    for fixed in season.held:
        by_theme[fixed.theme].append(fixed.worth)
    for one in proposals:
        by_theme[one.theme].append(season.worth[one.theme, one.site, one.day])
    return sum(_concave(sorted(values, reverse=True)) for values in by_theme.values())


def _concave(values: Sequence[int]) -> int:
    return FULL * sum(values[:FULL_WALKS]) + LATER * sum(values[FULL_WALKS:])


def crowding(season: Season, proposals: Sequence[Proposal]) -> int:
    """Σ over sites of the walks beyond the target."""
    held = Counter(site for _, site, _, _ in walks_of(season, proposals))
    return sum(max(0, count - season.site_target) for count in held.values())


def aims(season: Season) -> Iterator[str]:
    """The aims in their order: "wishes:1", …, "worth", "spread", "change"."""
    yield from (f"wishes:{rank}" for rank in sorted({one.rank for one in season.wishes}))
    yield from ("worth", "spread", "change") if season.earlier else ("worth", "spread")


def cost(season: Season, proposals: Sequence[Proposal], aim: str) -> int:
    """What the plan costs by one aim; less is better."""
    if aim == "worth":
        return -worth(season, proposals)
    if aim == "spread":
        return crowding(season, proposals)
    if aim == "change":
        return change(season.earlier, proposals)
    return broken(season, proposals, int(aim.partition(":")[2]))
