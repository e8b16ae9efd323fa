"""The season that a plan is made for, read from what is recorded of sites, guides, themes, walks and accounts."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, timedelta

from django.db.models import Prefetch

from curriculum.compute.expected import Ground, mean_chance
from curriculum.queries import AccountInUse, accounts_in_use
from walks.compute.season_plan.facts import Fixed, PlanGuide, PlanSite, PlanTheme, Season, Span, Wish
from walks.guides import record_of
from walks.models import Guide, GuideCertificate, InsuranceCover, Offering, Site, Theme, ThemeTaxon, Walk
from walks.queries import light_at
from walks.season_wanted import Wanted

LEAST_EXPECTED = 200
"""A walk that meets fewer of its wanted species, in thousandths, is not proposed (our rule)."""

Worth = Mapping[tuple[str, str, date], int]


def season_of(window: Span, wanted: Wanted) -> Season:
    """Everything recorded that bears on the window. About a dozen queries."""
    sites = list(Site.objects.prefetch_related("permissions"))
    themes = list(Theme.objects.prefetch_related(Prefetch("theme_taxa", ThemeTaxon.objects.select_related("taxon"))))
    worth = worth_of(window, sites, themes, accounts_in_use())
    plan_themes = tuple(_theme(one, wanted) for one in themes)
    return Season(
        window=window,
        sites=tuple(_site(one, window, wanted) for one in sites),
        guides=tuple(_guides(themes)),
        themes=plan_themes,
        worth=worth,
        insured=tuple(Span(one.valid_from, one.valid_to) for one in InsuranceCover.objects.all()),
        most_walks=wanted.most_walks,
        most_a_week=wanted.most_a_week,
        site_target=-(-wanted.most_walks // max(1, len(sites))),
        weekdays=wanted.weekdays,
        least_worth=LEAST_EXPECTED,
        start=wanted.start,
        wishes=tuple(_wishes(themes, wanted)),
        fixed=tuple(_fixed(window, worth)),
    )


def worth_of(
    window: Span, sites: Sequence[Site], themes: Sequence[Theme], accounts: Mapping[str, AccountInUse]
) -> Worth:
    """Σ of the chances of each theme's taxa, in thousandths, by theme, site and day; nothing where it is nought."""
    found: dict[tuple[str, str, date], int] = {}
    for theme in themes:
        taught = [accounts[one.taxon.key].account for one in theme.theme_taxa.all() if one.taxon.key in accounts]
        for site in sites:
            ground = Ground(frozenset(site.habitats), frozenset(site.host_trees))
            for day in window.days():
                worth = sum(round(1000 * mean_chance(one, day, ground)) for one in taught)
                if worth:
                    found[theme.public_id, site.public_id, day] = worth
    return found


def _site(site: Site, window: Span, wanted: Wanted) -> PlanSite:
    days = [day for day in window.days() if day.weekday() in wanted.weekdays]
    return PlanSite(
        key=site.public_id,
        name=site.name,
        permissions=tuple(one.rule for one in site.permissions.all()),
        rest=wanted.rest,
        light={day: light for day in days if (light := _light(site, day)) is not None},
    )


def _light(site: Site, day: date) -> tuple[int, int] | None:
    """Sunrise and the end of civil twilight in minutes from midnight; whole minutes inwards."""
    light = light_at(site, day)
    if light.polar == "day":
        return 0, 24 * 60 - 1
    if light.sunrise is None or light.civil_dusk is None:
        return None
    zone = site.clock
    rise, dusk = light.sunrise.astimezone(zone), light.civil_dusk.astimezone(zone)
    last = dusk.hour * 60 + dusk.minute if dusk.date() == day else 24 * 60 - 1
    return rise.hour * 60 + rise.minute + 1, last


def _guides(themes: Sequence[Theme]) -> Iterator[PlanGuide]:
    """Who can lead: grown, active, and with a first-aid certificate, since they may be alone with the group."""
    for guide in Guide.objects.filter(active=True, adult=True).prefetch_related("certificates", "absences"):
        record = record_of(guide)
        kinds = dict.fromkeys((GuideCertificate.Kind.FIRST_AID.value, *(one.kind for one in record.papers)))
        yield PlanGuide(
            key=guide.public_id,
            name=guide.name,
            days_a_week=guide.days_a_week,
            papers=tuple(
                tuple(Span(one.first_day, one.last_day) for one in record.papers if one.kind == kind) for kind in kinds
            ),
            absences=tuple(Span(first, last) for first, last in record.absences),
            leads=frozenset(one.public_id for one in themes if _groups(one) <= record.may_lead),
        )


def _groups(theme: Theme) -> set[str]:
    return {one.taxon.group for one in theme.theme_taxa.all()}


def _theme(theme: Theme, wanted: Wanted) -> PlanTheme:
    _, most = _bounds(theme, wanted)
    return PlanTheme(theme.public_id, theme.name, most, wanted.minutes)


def _bounds(theme: Theme, wanted: Wanted) -> tuple[int, int]:
    return wanted.themes.get(theme.public_id, (wanted.least_of_a_theme, wanted.most_of_a_theme))


def _wishes(themes: Iterable[Theme], wanted: Wanted) -> Iterator[Wish]:
    for theme in themes:
        least, _ = _bounds(theme, wanted)
        if least:
            words = f"at least {least} on “{theme.name}”"
            yield Wish(f"theme-{theme.public_id}", 1, words, least, themes=frozenset({theme.public_id}))
    if wanted.in_holidays and wanted.holidays:
        words = f"at least {wanted.in_holidays} in the school holidays"
        yield Wish("holidays", 2, words, wanted.in_holidays, days=wanted.holidays)


def _fixed(window: Span, worth: Worth) -> Iterator[Fixed]:
    """Drafts and published walks of the years that the window touches, and of the weeks beside it."""
    week = timedelta(days=6)
    first = min(date(window.first.year, 1, 1), window.first - week)
    last = max(date(window.last.year, 12, 31), window.last + week)
    live = Walk.objects.filter(called_off_at=None, local_date__range=(first, last))
    walks = live.exclude(offering__state=Offering.State.CALLED_OFF).select_related("offering__theme", "theme", "site")
    for walk in walks.prefetch_related("walk_guides__guide"):
        place = (walk.subject.public_id, walk.site.public_id, walk.local_date)
        guides = tuple(one.guide.public_id for one in walk.walk_guides.all())
        yield Fixed(*place, guides, worth.get(place, 0))
