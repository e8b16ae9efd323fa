"""The hard rules by name, and for each walk on its own the rules that forbid it.

Counting rules (days a year, rest, days a week, the most of a theme …) are in model.py and check.py.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date

from walks.compute.season_plan.facts import PlanGuide, PlanSite, PlanTheme, Season, Span, start_on

OFF_DAYS, WEEK, MOST, INSURANCE, REFUSED = "weekdays", "most_a_week", "most_walks", "insurance", "refused"
WINDOW = "window"


def place_and_time(season: Season, theme: PlanTheme, site: PlanSite, day: date) -> Iterator[str]:
    """Names of the rules that forbid `theme` at `site` on `day`, whoever leads."""
    if day.weekday() not in season.weekdays:
        yield OFF_DAYS
    if not _within(day, season.insured):
        yield INSURANCE
    yield from _leave(site, day)
    if theme.sites is not None and site.key not in theme.sites:
        yield f"suits:{theme.key}"
    if season.worth.get((theme.key, site.key, day), 0) < season.least_worth:
        yield f"in_season:{theme.key}"
    if start_on(theme, site, day, season.start) is None:
        yield f"light:{theme.key}"
    if any(one.site == site.key and abs((one.day - day).days) < site.rest for one in season.fixed):
        yield f"rest:{site.key}"
    if (theme.key, site.key, day) in season.refused:
        yield REFUSED


def _leave(site: PlanSite, day: date) -> Iterator[str]:
    in_force = [one for one in site.permissions if one.in_force(day)]
    if not in_force:
        yield f"permission:{site.key}"
    elif not any(one.open_on(day) for one in in_force):
        yield f"closed:{site.key}"


def guide_and_time(season: Season, theme: PlanTheme, guide: PlanGuide, day: date) -> Iterator[str]:
    """Names of the rules that forbid `guide` to lead `theme` on `day`, wherever it is."""
    if guide.leads is not None and theme.key not in guide.leads:
        yield f"leads:{guide.key}"
    if not all(_within(day, spans) for spans in guide.papers):
        yield f"certificates:{guide.key}"
    if _within(day, guide.absences):
        yield f"absent:{guide.key}"
    if any(guide.key in one.guides and one.day == day for one in season.fixed):
        yield f"once_a_day:{guide.key}"


def _within(day: date, spans: Iterable[Span]) -> bool:
    return any(day in span for span in spans)


def words_of(season: Season) -> dict[str, str]:
    """Every rule by name, as a person reads it."""
    words = {
        OFF_DAYS: "the days of the week on which you hold walks",
        WINDOW: "the dates of the plan, which hold too few such days",
        INSURANCE: "the insurance, which must be in force on the day",
        REFUSED: "what you dropped from the plan before",
        WEEK: f"no more than {season.most_a_week} walks in a week",
        MOST: f"no more than {season.most_walks} walks in all",
    }
    for site in season.sites:
        words |= _of_site(season, site)
    for guide in season.guides:
        words |= _of_guide(guide)
    for theme in season.themes:
        words |= _of_theme(season, theme)
    return words | {f"wish:{wish.key}": f"the wish “{wish.words}”" for wish in season.wishes}


def _of_site(season: Season, site: PlanSite) -> dict[str, str]:
    years = range(season.window.first.year, season.window.last.year + 1)
    return {
        f"permission:{site.key}": f"the dates of the landowner’s permission for {site.name}",
        f"closed:{site.key}": f"the closed season of {site.name}",
        f"rest:{site.key}": f"the rest of {site.rest} days between visits to {site.name}",
        **{f"days_a_year:{site.key}:{year}": f"the days in {year} that {site.name} may be used" for year in years},
    }


def _of_guide(guide: PlanGuide) -> dict[str, str]:
    return {
        f"leads:{guide.key}": f"what {guide.name} may lead",
        f"certificates:{guide.key}": f"the dates of {guide.name}’s certificates",
        f"absent:{guide.key}": f"{guide.name}’s absences",
        f"once_a_day:{guide.key}": f"{guide.name} leads one walk a day",
        f"days_a_week:{guide.key}": f"{guide.name} works {guide.days_a_week} days a week",
    }


def _of_theme(season: Season, theme: PlanTheme) -> dict[str, str]:
    return {
        f"suits:{theme.key}": f"the sites that suit “{theme.name}”",
        f"in_season:{theme.key}": f"the season of “{theme.name}” (at least {season.least_worth / 1000:g} species)",
        f"light:{theme.key}": f"the daylight that “{theme.name}” needs",
        f"most:{theme.key}": f"no more than {theme.most} walks on “{theme.name}”",
    }
