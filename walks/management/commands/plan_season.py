"""Plan a season and print what would be proposed; nothing is saved."""

from __future__ import annotations

import json
from datetime import date
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from walks.compute.season_plan.facts import Season, Span
from walks.compute.season_plan.obstacles import obstacles
from walks.compute.season_plan.solve import SeasonPlan, solve
from walks.season_inputs import season_of
from walks.season_wanted import usual
from walks.services.ask_for_plan import LONGEST
from walks.services.make_plan import result_of


class Command(BaseCommand):
    help = "Plan the walks from one day to another: proposals, aims with bound and gap, what stands in the way."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--from", dest="first", required=True, type=date.fromisoformat, metavar="DATE")
        parser.add_argument("--to", dest="last", required=True, type=date.fromisoformat, metavar="DATE")
        parser.add_argument("--walks", type=int, help="the most walks in all; otherwise about one a week")
        parser.add_argument("--json", action="store_true", help="print JSON")

    def handle(self, *args: Any, first: date, last: date, walks: int | None, json: bool, **options: Any) -> None:
        if not first <= last <= first + LONGEST:
            raise CommandError("Nothing was planned: --from lies before --to, and a plan covers at most a year.")
        wanted = usual(first, last, walks)
        season = season_of(Span(first, last), wanted)
        solved = solve(season)
        result = result_of(season, solved, obstacles(season, solved.proposals))
        result["proposals"] = [_row(season, solved, number) for number in range(len(solved.proposals))]
        self.stdout.write(_json(result) if json else "\n".join(_lines(result)))


def _row(season: Season, solved: SeasonPlan, number: int) -> dict[str, object]:
    one = solved.proposals[number]
    names = {some.key: some.name for some in season.sites}
    names |= {some.key: some.name for some in season.themes} | {some.key: some.name for some in season.guides}
    return {
        "date": one.day.isoformat(),
        "site": names[one.site],
        "theme": names[one.theme],
        "guide": names[one.guide],
        "expected": season.worth[one.theme, one.site, one.day] / 1000,
    }


def _json(result: dict[str, object]) -> str:
    return json.dumps(result, ensure_ascii=False, indent=2)


def _lines(result: dict[str, Any]) -> list[str]:
    proposals = [f"{one['date']}  {one['theme']}, {one['site']}, {one['guide']}" for one in result["proposals"]]
    aims = [f"{one['aim']}: {one['cost']}, bound {one['bound']}, gap {one['gap']:.2%}" for one in result["aims"]]
    return [*proposals, *aims, *(one["sentence"] for one in result["unmet"])]
