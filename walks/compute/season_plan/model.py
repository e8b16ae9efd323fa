"""The season plan as a CP-SAT model.

A candidate is a theme at a site on a day with a guide. The guide changes neither worth nor spread, so the model does
not hold one variable a candidate: it chooses places (theme, site, day), and for each day and each class of themes that
the same guides may lead which of those guides go out. Any such choice can be dealt out to the guides, and any plan of
candidates is such a choice. A place is chosen *fully* or as a *later* walk of its theme, which counts half: two of a
theme count fully (our rule), and as each worth is positive the best two take those ranks by themselves.

With `named` every hard rule hangs on one literal, so that sets of rules can be switched on (see obstacles.py), and a
guide may go out more than once a day: that they may not is a named rule as well.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date

from ortools.sat.python import cp_model

from walks.compute.permission_rules import Permission
from walks.compute.season_plan import rules
from walks.compute.season_plan.facts import PlanGuide, PlanSite, PlanTheme, Season, Wish, week_of

FULL, LATER, FULL_WALKS = 2, 1, 2
"""A theme's two best walks count fully, those after them half; objectives are in half thousandths."""
Place = tuple[str, str, date]
Outing = tuple[date, str, frozenset[str]]
Term = cp_model.LinearExprT


class PlanModel:
    """Variables and hard rules. `places` and `outings` are 0/1 by key; `full` says which places count fully."""

    def __init__(self, season: Season, *, named: bool = False) -> None:
        self.season, self.named = season, named
        self.cp = cp_model.CpModel()
        self.literals: dict[str, cp_model.IntVar] = {}
        self.full: dict[Place, cp_model.IntVar] = {}
        self.later: dict[Place, cp_model.IntVar] = {}
        self.outings: dict[Outing, cp_model.IntVar] = {}
        self.by_theme: dict[str, list[Place]] = defaultdict(list)
        self.by_site: dict[str, list[Place]] = defaultdict(list)
        self.by_day: dict[date, list[Place]] = defaultdict(list)
        self.classes = {one.key: _who_may_lead(one, season.guides) for one in season.themes}
        self._make_outings()
        self._make_places()
        self._lead_each()
        self._limit_sites()
        self._limit_guides()
        self._limit_numbers()

    def literal(self, rule: str) -> cp_model.IntVar:
        """The literal that switches a named rule on."""
        if rule not in self.literals:
            self.literals[rule] = self.cp.new_bool_var(rule)
        return self.literals[rule]

    def _at_most(self, rule: str, terms: Sequence[Term], most: int) -> None:
        if len(terms) <= most and not self.named:
            return
        constraint = self.cp.add(sum(terms) <= max(most, 0))
        if self.named:
            constraint.only_enforce_if(self.literal(rule))

    def _variable(self, most: int, against: Iterable[str]) -> cp_model.IntVar:
        """A variable up to `most` that each of the rules `against` it holds at nought."""
        variable = self.cp.new_int_var(0, most, "")
        for rule in against:
            self.cp.add(variable == 0).only_enforce_if(self.literal(rule))
        return variable

    def chosen(self, place: Place) -> Term:
        """1 where the place is chosen, fully or as a later walk."""
        later = self.later.get(place)
        return self.full[place] if later is None else self.full[place] + later

    def count(self, places: Iterable[Place]) -> Term:
        """How many of the places are chosen."""
        return sum(self._count(places))

    def count_towards(self, wish: Wish) -> Term:
        """How many walks count towards the wish, fixed ones included."""
        fixed = sum(wish.counts(one.theme, one.site, one.day, one.guides) for one in self.season.held)
        if wish.guides is not None:
            return fixed + sum(one for (_, guide, _), one in self.outings.items() if guide in wish.guides)
        return fixed + self.count(place for place in self.full if wish.counts(*place, ()))

    def _count(self, places: Iterable[Place]) -> list[Term]:
        """The variables of the places, each its own term."""
        return [one[place] for place in places for one in (self.full, self.later) if place in one]

    def _most_at_once(self) -> int:
        """How many walks a guide may lead on a day as far as the variable is concerned."""
        return len(self.season.sites) * len(self.season.themes) if self.named else 1

    def _make_outings(self) -> None:
        for theme in self.season.themes:
            for guide in self.season.guides:
                for day in self.season.window.days():
                    self._make_outing(theme, guide, day)

    def _make_outing(self, theme: PlanTheme, guide: PlanGuide, day: date) -> None:
        key = (day, guide.key, self.classes[theme.key])
        against = list(rules.guide_and_time(self.season, theme, guide, day))
        if key in self.outings or (against and not self.named):
            return
        self.outings[key] = self._variable(self._most_at_once(), against)

    def _make_places(self) -> None:
        led = {(day, who) for day, _, who in self.outings}
        for theme in self.season.themes:
            for site in self.season.sites:
                for day in self.season.window.days():
                    if (day, self.classes[theme.key]) in led:
                        self._make_place(theme, site, day)

    def _make_place(self, theme: PlanTheme, site: PlanSite, day: date) -> None:
        against = list(rules.place_and_time(self.season, theme, site, day))
        if against and not self.named:
            return
        place = (theme.key, site.key, day)
        self.full[place] = self._variable(1, against)
        if not self.named:
            self.later[place] = self.cp.new_bool_var("")
        self.by_theme[theme.key].append(place)
        self.by_site[site.key].append(place)
        self.by_day[day].append(place)

    def _lead_each(self) -> None:
        """As many of the guides who may lead go out as there are walks of their class that day."""
        guides: dict[tuple[date, frozenset[str]], list[Term]] = defaultdict(list)
        walks: dict[tuple[date, frozenset[str]], list[Place]] = defaultdict(list)
        for (day, _, who), variable in self.outings.items():
            guides[day, who].append(variable)
        for place in self.full:
            walks[place[2], self.classes[place[0]]].append(place)
        for key, going in guides.items():
            self.cp.add(sum(self._count(walks[key])) == sum(going))

    def _limit_sites(self) -> None:
        for site in self.season.sites:
            self._rest(site)
            for permission in site.permissions:
                for year in range(self.season.window.first.year, self.season.window.last.year + 1):
                    self._days_a_year(site, permission, year)

    def _rest(self, site: PlanSite) -> None:
        """At most one visit in each run of `rest` days; a run that is part of another says nothing new."""
        by_day: dict[date, list[Place]] = defaultdict(list)
        for place in self.by_site[site.key]:
            by_day[place[2]].append(place)
        days, reached = sorted(by_day), date.min
        for number, first in enumerate(days):
            run = [day for day in days[number : number + max(site.rest, 1)] if (day - first).days < max(site.rest, 1)]
            if run[-1] > reached:
                self._at_most(f"rest:{site.key}", self._count(place for day in run for place in by_day[day]), 1)
            reached = run[-1]

    def _days_a_year(self, site: PlanSite, permission: Permission, year: int) -> None:
        if permission.days_a_year is None:
            return
        used = {one.day for one in self.season.fixed if one.site == site.key and _within(one.day, permission, year)}
        places = self._count(one for one in self.by_site[site.key] if _within(one[2], permission, year))
        self._at_most(f"days_a_year:{site.key}:{year}", places, permission.days_a_year - len(used))

    def _limit_guides(self) -> None:
        by_day: dict[tuple[str, date], list[Term]] = defaultdict(list)
        by_week: dict[tuple[str, tuple[int, int]], list[Term]] = defaultdict(list)
        for (day, guide, _), variable in self.outings.items():
            by_day[guide, day].append(variable)
            by_week[guide, week_of(day)].append(variable)
        for (guide, _), variables in by_day.items():
            self._at_most(f"once_a_day:{guide}", variables, 1)
        most = {one.key: one.days_a_week for one in self.season.guides}
        for (guide, week), variables in by_week.items():
            used = {one.day for one in self.season.fixed if guide in one.guides and week_of(one.day) == week}
            self._at_most(f"days_a_week:{guide}", variables, most[guide] - len(used))

    def _limit_numbers(self) -> None:
        fixed = self.season.fixed
        for theme in self.season.themes:
            used = sum(one.theme == theme.key for one in self.season.held)
            self._at_most(f"most:{theme.key}", self._count(self.by_theme[theme.key]), theme.most - used)
        by_week: dict[tuple[int, int], list[Place]] = defaultdict(list)
        for place in self.full:
            by_week[week_of(place[2])].append(place)
        for week, places in by_week.items():
            used = sum(week_of(one.day) == week for one in fixed)
            self._at_most(rules.WEEK, self._count(places), self.season.most_a_week - used)
        self._at_most(rules.MOST, self._count(self.full), self.season.most_walks - len(self.season.held))


def _who_may_lead(theme: PlanTheme, guides: Iterable[PlanGuide]) -> frozenset[str]:
    return frozenset(one.key for one in guides if one.leads is None or theme.key in one.leads)


def _within(day: date, permission: Permission, year: int) -> bool:
    return day.year == year and permission.in_force(day)
