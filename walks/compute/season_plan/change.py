"""How much a plan differs from the one before.

Definition (our rule): each earlier proposal has at most one partner in the new plan, and each new one is partner of at
most one; a change costs 100 for a proposal dropped, else 10 where site or theme differs, 3 where the guide does, and
one for each day moved. Partners share the theme or the site and lie at most 14 days apart, so that the days moved
are capped at 14; what is further off is not the same walk. The cost is that of the cheapest matching.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import date

from ortools.graph.python import linear_sum_assignment
from ortools.sat.python import cp_model

from walks.compute.season_plan.facts import Proposal
from walks.compute.season_plan.model import Place, PlanModel, Term

DROPPED, ELSEWHERE, OTHER_GUIDE, FURTHEST = 100, 10, 3, 14


def moved(earlier: Proposal, theme: str, site: str, day: date) -> int | None:
    """The cost of the move, the guide left out of it; None where the two are no partners."""
    days = abs((day - earlier.day).days)
    differ = (theme != earlier.theme) + (site != earlier.site)
    return None if differ == 2 or days > FURTHEST else ELSEWHERE * differ + days


def change(earlier: Sequence[Proposal], now: Sequence[Proposal]) -> int:
    """The cost of the change from the `earlier` proposals to those `now`."""
    if not earlier:
        return 0
    size = len(earlier) + len(now)
    matching = linear_sum_assignment.SimpleLinearSumAssignment()
    for row in range(size):
        for column in range(size):
            cost = _cost(earlier, now, row, column)
            if cost is not None:
                matching.add_arc_with_cost(row, column, cost)
    matching.solve()
    return int(matching.optimal_cost())


def _cost(earlier: Sequence[Proposal], now: Sequence[Proposal], row: int, column: int) -> int | None:
    """Rows: earlier ones, then "new"; columns: the present ones, then "dropped"."""
    if row >= len(earlier):
        return 0
    if column >= len(now):
        return DROPPED
    old, new = earlier[row], now[column]
    cost = moved(old, new.theme, new.site, new.day)
    return None if cost is None else cost + OTHER_GUIDE * (old.guide != new.guide)


class ChangeTerms:
    """The same cost in the model: `expression`, and after solving `guides_kept` by place."""

    def __init__(self, model: PlanModel) -> None:
        self.model, self.terms = model, list[Term]()
        self.of_place: dict[Place, list[cp_model.IntVar]] = defaultdict(list)
        self.kept: dict[tuple[int, date, frozenset[str]], cp_model.IntVar] = {}
        self.matches: dict[tuple[int, Place], cp_model.IntVar] = {}
        for number, one in enumerate(model.season.earlier):
            self._match(number, one)
        for place, variables in self.of_place.items():
            model.cp.add(sum(variables) <= model.chosen(place))
        self._bind_guides()

    @property
    def expression(self) -> Term:
        """The cost of the change."""
        return sum(self.terms)

    def _match(self, number: int, one: Proposal) -> None:
        variables: list[Term] = []
        for place, cost in self._partners(one):
            variable = self.model.cp.new_bool_var("")
            self.matches[number, place] = variable
            self.of_place[place].append(variable)
            variables.append(variable)
            self.terms.append((cost + OTHER_GUIDE - DROPPED) * variable)
        self.model.cp.add(sum(variables) <= 1)
        self.terms.append(DROPPED)
        self._keep_guide(number, one)

    def _partners(self, one: Proposal) -> Iterator[tuple[Place, int]]:
        near = [*self.model.by_theme.get(one.theme, ()), *self.model.by_site.get(one.site, ())]
        for place in dict.fromkeys(near):
            cost = moved(one, *place)
            if cost is not None:
                yield place, cost

    def _keep_guide(self, number: int, one: Proposal) -> None:
        by_outing: dict[tuple[date, frozenset[str]], list[Term]] = defaultdict(list)
        for (other, place), variable in self.matches.items():
            if other == number:
                by_outing[place[2], self.model.classes[place[0]]].append(variable)
        for (day, who), variables in by_outing.items():
            if (day, one.guide, who) in self.model.outings:
                kept = self.kept[number, day, who] = self.model.cp.new_bool_var("")
                self.model.cp.add(kept <= sum(variables))
                self.terms.append(-OTHER_GUIDE * kept)

    def _bind_guides(self) -> None:
        """A guide who goes out keeps one walk of those that were theirs."""
        by_outing: dict[tuple[date, str, frozenset[str]], list[Term]] = defaultdict(list)
        for (number, day, who), variable in self.kept.items():
            by_outing[day, self.model.season.earlier[number].guide, who].append(variable)
        for outing, variables in by_outing.items():
            self.model.cp.add(sum(variables) <= self.model.outings[outing])

    def guides_kept(self, values: Sequence[int]) -> dict[Place, str]:
        """Which guide leads which place because they did before; `values` by the variables' index."""
        kept = {(number, day, who) for (number, day, who), one in self.kept.items() if values[one.index]}
        return {
            place: self.model.season.earlier[number].guide
            for (number, place), one in self.matches.items()
            if values[one.index] and (number, place[2], self.model.classes[place[0]]) in kept
        }
