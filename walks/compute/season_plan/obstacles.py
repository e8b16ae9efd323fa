"""What stands in the way of a wish: an irreducible set of named rules.

Feasibility apart from the aims (the solver does not take assumptions together with an objective): each rule hangs
on one literal, and deletion filtering (J. W. Chinneck and E. W. Dravnieks, ORSA Journal on Computing 3 (1991) 157-168,
recalled, not read here) leaves out rule after rule as long as the wish stays impossible. In what remains every rule is
needed: without any one of them the others let the wish be met. There may be other such sets. First the wish alone is
asked for against the hard rules; where it can be met alone, the other wishes of its rank and above join them.

The solver's own list of sufficient assumptions is not used: with its presolve on it may name a wrong literal.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from ortools.sat.python import cp_model

from walks.compute.season_plan.facts import Proposal, Season, Wish
from walks.compute.season_plan.measure import missing
from walks.compute.season_plan.model import PlanModel
from walks.compute.season_plan.rules import WINDOW, words_of

LIMIT = 20.0
SEED = 1


@dataclass(frozen=True, slots=True)
class Obstacle:
    """A wish that the plan breaks: by how many walks, and the rules which together stand in its way.

    `rules` is empty where nothing was shown to stand in the way: the search ended before it met the wish.
    """

    wish: Wish
    missing: int
    rules: tuple[str, ...]
    words: tuple[str, ...]

    @property
    def sentence(self) -> str:
        """In words."""
        short = f"“{self.wish.words}” is not met: {self.missing} of {self.wish.least} missing."
        if not self.words:
            return f"{short} Nothing was shown to stand in the way; a longer search might meet it."
        if len(self.words) == 1:
            return f"{short} It cannot be met because of {self.words[0]}."
        return f"{short} It cannot be met while all of these hold: {'; '.join(self.words)}."


def obstacles(season: Season, proposals: Sequence[Proposal], *, limit: float = LIMIT) -> tuple[Obstacle, ...]:
    """Every broken wish, the most important first. `limit`: deterministic units for each question to the solver."""
    found = []
    for wish in sorted(season.wishes, key=lambda one: (one.rank, one.key)):
        short = missing(season, proposals, wish)
        if short:
            names = _alone(season, wish, limit) or _among(season, wish, limit)
            words = words_of(season)
            found.append(Obstacle(wish, short, tuple(names), tuple(words[name] for name in names)))
    return tuple(found)


def _alone(season: Season, wish: Wish, limit: float) -> list[str]:
    """The hard rules that forbid the wish whatever else is wished for; other themes play no part in that."""
    themes = tuple(one for one in season.themes if wish.themes is None or one.key in wish.themes)
    return _irreducible(replace(season, themes=themes, wishes=()), wish, limit)


def _among(season: Season, wish: Wish, limit: float) -> list[str]:
    rivals = tuple(one for one in season.wishes if one.rank <= wish.rank and one.key != wish.key)
    return _irreducible(replace(season, wishes=rivals), wish, limit)


def _irreducible(season: Season, wish: Wish, limit: float) -> list[str]:
    model = PlanModel(season, named=True)
    model.cp.add(model.count_towards(wish) >= wish.least)
    for rival in season.wishes:
        met = model.cp.add(model.count_towards(rival) >= rival.least)
        met.only_enforce_if(model.literal(f"wish:{rival.key}"))
    if _impossible(model, [], limit):
        return [WINDOW]
    names = [name for name in words_of(season) if name in model.literals]
    return filtered(names, lambda rules: _impossible(model, rules, limit))


def filtered(rules: list[str], impossible: Callable[[list[str]], bool]) -> list[str]:
    """An irreducible part of `rules` that is still impossible, none where even all are possible.

    Blocks are left out first, then one rule at a time: that last round alone makes the set irreducible.
    """
    if not impossible(rules):
        return []
    size = len(rules)
    while size > 1:
        size = (size + 1) // 2
        at = 0
        while at < len(rules):
            without = rules[:at] + rules[at + size :]
            if impossible(without):
                rules = without
            else:
                at += size
    return rules


def _impossible(model: PlanModel, rules: Sequence[str], limit: float) -> bool:
    model.cp.clear_assumptions()
    model.cp.add_assumptions([model.literals[rule] for rule in rules])
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = SEED
    solver.parameters.max_deterministic_time = limit
    return solver.solve(model.cp) == cp_model.INFEASIBLE
