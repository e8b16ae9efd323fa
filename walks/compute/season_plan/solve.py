"""Solving a season plan: one aim after the other, each bound by what the earlier ones reached.

Order (our rule): broken wishes by rank, worth, spread, change. A later aim may worsen an earlier one by at most 0.5 %,
rounded down. One worker, a fixed seed and a deterministic limit: the same season gives the same plan. A plan always
exists, since only wishes ask for walks; what they ask in vain is for obstacles.py to explain.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from ortools.sat.python import cp_model

from walks.compute.season_plan.change import ChangeTerms
from walks.compute.season_plan.facts import Proposal, Season, Wish
from walks.compute.season_plan.measure import aims, cost
from walks.compute.season_plan.model import FULL, FULL_WALKS, LATER, Outing, Place, PlanModel, Term

ALLOWANCE = 5
"""How much a later aim may worsen an earlier one, in thousandths."""

SEED = 1
LIMIT = 60.0
"""Deterministic units an aim, about as many seconds."""

Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class Aim:
    """What came of one aim; costs, less is better (worth is negative). `bound`: no plan is better than that, given the
    aims before. `final`: its cost in the finished plan, after the later aims took what they may."""

    name: str
    cost: int
    bound: int
    final: int

    @property
    def proven(self) -> bool:
        """Whether nothing better exists."""
        return self.cost == self.bound

    @property
    def gap(self) -> float:
        """How far the bound is from the cost, as a share of the bound."""
        return 0.0 if self.proven else (self.cost - self.bound) / max(1, abs(self.bound))


@dataclass(frozen=True, slots=True)
class SeasonPlan:
    """The proposals by date, and what came of each aim in order."""

    proposals: tuple[Proposal, ...]
    aims: tuple[Aim, ...]


def solve(season: Season, *, limit: float = LIMIT, progress: Progress = lambda done, of: None) -> SeasonPlan:
    """The best plan within the limit; `progress` hears how many aims of how many are done."""
    return _Solving(season, limit).run(progress)


class _Solving:
    def __init__(self, season: Season, limit: float) -> None:
        self.season, self.limit = season, limit
        self.model = PlanModel(season)
        self.changes: ChangeTerms | None = None
        self.values: list[int] = []
        self._fully()

    def run(self, progress: Progress) -> SeasonPlan:
        names, reached = list(aims(self.season)), list[Aim]()
        proposals: tuple[Proposal, ...] = ()
        for number, name in enumerate(names):
            progress(number, len(names))
            expression = self._expression(name)
            bound = self._minimise(expression)
            proposals = self._proposals()
            found = cost(self.season, proposals, name)
            reached.append(Aim(name, found, min(bound, found), found))
            self.model.cp.add(expression <= found + abs(found) * ALLOWANCE // 1000)
        progress(len(names), len(names))
        final = [replace(one, final=cost(self.season, proposals, one.name)) for one in reached]
        return SeasonPlan(proposals, tuple(final))

    def _minimise(self, expression: Term) -> int:
        """Solve and keep the values; where the limit passes without any, those of the aim before stay. The bound."""
        self.model.cp.minimize(expression)
        self._hint()
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = SEED
        solver.parameters.max_deterministic_time = self.limit
        # Matchings have a tight linear relaxation, and with all of it least change is proven instead of guessed.
        solver.parameters.linearization_level = 2 if self.changes else 1
        status = solver.solve(self.model.cp)
        if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            self.values = list(solver.response_proto.solution)
        return round(solver.best_objective_bound)

    def _hint(self) -> None:
        self.model.cp.clear_hints()  # type: ignore[no-untyped-call]
        for index, value in enumerate(self.values):
            self.model.cp.add_hint(self.model.cp.get_int_var_from_proto_index(index), value)

    def _expression(self, name: str) -> Term:
        if name == "worth":
            return self._worth()
        if name == "spread":
            return self._crowding()
        if name == "change":
            self.changes = ChangeTerms(self.model)
            return self.changes.expression
        return sum(self._missing(one) for one in self.season.wishes if f"wishes:{one.rank}" == name)

    def _missing(self, wish: Wish) -> Term:
        short = self.model.cp.new_int_var(0, wish.least, "")
        self.model.cp.add(short >= wish.least - self.model.count_towards(wish))
        return short

    def _worth(self) -> Term:
        worth, model = self.season.worth, self.model
        full = sum(FULL * worth[place] * one for place, one in model.full.items())
        later = sum(LATER * worth[place] * one for place, one in model.later.items())
        fixed = sum((FULL - LATER) * one.worth * self.fixed_full[n] for n, one in enumerate(self.season.held))
        return -(full + later + fixed + LATER * sum(one.worth for one in self.season.held))

    def _fully(self) -> None:
        """Fixed walks stand in line for the two ranks that count fully, like any other."""
        self.fixed_full = [self.model.cp.new_bool_var("") for _ in self.season.held]
        ranks: dict[str, list[Term]] = defaultdict(list)
        for place, variable in self.model.full.items():
            ranks[place[0]].append(variable)
        for fixed, variable in zip(self.season.held, self.fixed_full, strict=True):
            ranks[fixed.theme].append(variable)
        for variables in ranks.values():
            self.model.cp.add(sum(variables) <= FULL_WALKS)

    def _crowding(self) -> Term:
        beyond: list[Term] = []
        for site in self.season.sites:
            held = sum(one.site == site.key for one in self.season.held)
            over = self.model.cp.new_int_var(0, len(self.model.by_site[site.key]) + held, "")
            self.model.cp.add(over >= self.model.count(self.model.by_site[site.key]) + held - self.season.site_target)
            beyond.append(over)
        return sum(beyond)

    def _proposals(self) -> tuple[Proposal, ...]:
        if not self.values:
            return ()
        chosen = [place for place in self.model.full if self._is_chosen(place)]
        going = [outing for outing, one in self.model.outings.items() if self.values[one.index]]
        kept = self.changes.guides_kept(self.values) if self.changes else {}
        return tuple(sorted(deal(chosen, going, self.model.classes, kept)))

    def _is_chosen(self, place: Place) -> bool:
        return bool(self.values[self.model.full[place].index] or self.values[self.model.later[place].index])


def deal(
    chosen: Sequence[Place],
    going: Sequence[Outing],
    classes: Mapping[str, frozenset[str]],
    kept: Mapping[Place, str],
) -> list[Proposal]:
    """Give each place one of the guides who go out that day for its class: the one of before where they are kept."""
    free: dict[tuple[date, frozenset[str]], list[str]] = defaultdict(list)
    for day, guide, who in sorted(going, key=lambda one: one[:2]):
        free[day, who].append(guide)
    found = []
    for place in sorted(chosen, key=lambda one: (one not in kept, one)):
        guides = free[place[2], classes[place[0]]]
        guide = kept.get(place, guides[0])
        guides.remove(guide)
        found.append(Proposal(place[2], place[1], place[0], guide))
    return found
