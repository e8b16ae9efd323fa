"""Guides as the rules read them, and what stands against the walks that they are down for."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo

from django.db.models import Q, prefetch_related_objects

from curriculum.models import Taxon
from walks.compute.guide_rules import GuideRecord, Objection, Outing, Paper, objections
from walks.models import Guide, GuideCertificate, MayLead, Theme, ThemeTaxon, Walk, WalkGuide

WORDS = {MayLead.FUNGUS: "fungi", MayLead.PLANT: "plants", MayLead.SEAWEED: "seaweeds"}
IN_THE_DARK = (str(MayLead.NIGHT), "walks in the dark")
WEEK = timedelta(days=6)


def record_of(guide: Guide) -> GuideRecord:
    """The guide for the rules. No query where certificates and absences are prefetched, else two."""
    papers = [Paper(one.kind, _label(one), one.valid_from, one.valid_to) for one in guide.certificates.all()]
    absences = [(one.first_day, one.last_day) for one in guide.absences.all()]
    return GuideRecord(guide.name, guide.days_a_week, frozenset(guide.may_lead), tuple(papers), tuple(absences))


def _label(certificate: GuideCertificate) -> str:
    return f"The certificate “{certificate.title}” ({certificate.get_kind_display().lower()})"


def groups_of(theme: Theme, covers: Sequence[str]) -> set[str]:
    """Groups of the taxa taught: of those in `covers`, else of the theme's. One query."""
    taught = Q(key__in=covers) if covers else Q(themes=theme)
    return set(Taxon.objects.filter(taught).values_list("group", flat=True))


def asks_of(groups: Iterable[str], *, night: bool) -> tuple[tuple[str, str], ...]:
    """What whoever leads must be recorded for, as the rules read it."""
    return (*((one, WORDS[MayLead(one)]) for one in sorted(groups)), *((IN_THE_DARK,) if night else ()))


def days_out(guide: Guide, around: date, *, besides: int | None = None) -> list[date]:
    """Days within a week of `around` on which the guide is out, drafts counted, the walk `besides` not. One query."""
    outings = WalkGuide.objects.filter(guide=guide, live=True, walk__local_date__range=(around - WEEK, around + WEEK))
    return list(outings.exclude(walk=besides).values_list("walk__local_date", flat=True))


@dataclass(frozen=True, slots=True)
class _Known:
    """What many walks are judged by: groups by theme and by taxon, and the walks on which a guide is out on a day."""

    by_theme: Mapping[int, set[str]]
    by_taxon: Mapping[str, str]
    outings: Mapping[tuple[int, date], list[int]]

    def groups(self, walk: Walk) -> set[str]:
        if walk.covers:
            return {self.by_taxon[key] for key in walk.covers if key in self.by_taxon}
        return self.by_theme.get(walk.subject.pk, set())

    def other_days(self, guide: Guide, walk: Walk) -> list[date]:
        """As `days_out`: within a week of the walk, which is as far as any rule looks."""
        around = (walk.local_date + timedelta(days=n) for n in range(-WEEK.days, WEEK.days + 1))
        return [day for day in around for other in self.outings.get((guide.pk, day), ()) if other != walk.pk]


def _known(walks: Sequence[Walk], guides: Iterable[Guide]) -> _Known:
    by_theme: dict[int, set[str]] = defaultdict(set)
    themes = ThemeTaxon.objects.filter(theme__in={walk.subject.pk for walk in walks})
    for theme, group in themes.values_list("theme", "taxon__group").distinct():
        by_theme[theme].add(group)
    chosen = Taxon.objects.filter(key__in={key for walk in walks for key in walk.covers})
    outings: dict[tuple[int, date], list[int]] = defaultdict(list)
    days = [walk.local_date for walk in walks]
    around = (min(days) - WEEK, max(days) + WEEK) if days else (date.max, date.min)
    live = WalkGuide.objects.filter(live=True, guide__in={one.pk for one in guides}, walk__local_date__range=around)
    for guide, walk, day in live.values_list("guide", "walk", "walk__local_date"):
        outings[guide, day].append(walk)
    return _Known(by_theme, dict(chosen.values_list("key", "group")), outings)


def objections_to(walks: Sequence[Walk]) -> dict[int, list[Objection]]:
    """By primary key, what stands against the guides of `walks` going out as everything is recorded now.

    Who did not come on the day goes nowhere, so nothing of theirs stands against it. Five queries whatever their
    number, where offering, themes, guides and certificates are at hand.
    """
    outings = [one for walk in walks for one in _there(walk.walk_guides.all())]
    guides = [one.guide for one in outings]
    prefetch_related_objects(guides, "certificates", "absences")
    known = _known(walks, guides)
    return {
        walk.pk: [
            one
            for outing in _there(walk.walk_guides.all())
            for one in _against(outing, walk, known, leads=outing.role == WalkGuide.Role.LEADS)
        ]
        for walk in walks
    }


def objections_to_leading(outing: WalkGuide, walk: Walk) -> list[Objection]:
    """What would stand against the guide of `outing` leading `walk`. Five queries."""
    return _against(outing, walk, _known([walk], [outing.guide]), leads=True)


def _there(outings: Iterable[WalkGuide]) -> list[WalkGuide]:
    """Those of `outings` who did not stay away on the day."""
    return [one for one in outings if one.missing_since is None]


def _against(outing: WalkGuide, walk: Walk, known: _Known, *, leads: bool) -> list[Objection]:
    first, last = local_days(walk.starts_at, walk.ends_at, walk.clock)
    wanted = Outing(first, last, leads, asks_of(known.groups(walk), night=walk.is_night_walk))
    return list(objections(record_of(outing.guide), wanted, known.other_days(outing.guide, walk)))


def first_aider_on(outings: Iterable[WalkGuide], day: date) -> bool:
    """Whether a grown one of `outings`, who did not stay away, has a first-aid certificate in force. No query with
    certificates prefetched."""
    kind = GuideCertificate.Kind.FIRST_AID
    held = [one for outing in _there(outings) if outing.guide.adult for one in outing.guide.certificates.all()]
    return any(one.kind == kind and one.covers(day) for one in held)


def lost_cover(walks: Sequence[Walk]) -> dict[int, list[str]]:
    """By primary key, why the guides of each walk do not suffice: sentences, none where all is well."""
    against = objections_to(walks)
    return {walk.pk: list(_lost(walk, against[walk.pk])) for walk in walks}


def _lost(walk: Walk, against: Iterable[Objection]) -> Iterable[str]:
    yield from dict.fromkeys(one.sentence for one in against)
    if not first_aider_on(walk.walk_guides.all(), walk.local_date):
        yield "Nobody who goes along has a first-aid certificate in force that day."


def walks_without_cover(*, now: datetime) -> list[tuple[Walk, list[str]]]:
    """Published walks to come whose guides no longer suffice, with the reasons, soonest first. Nine queries."""
    coming = Walk.objects.filter(starts_at__gt=now, called_off_at=None, offering__state="published")
    walks = list(coming.select_related("offering__theme", "theme").prefetch_related("walk_guides__guide__certificates"))
    reasons = lost_cover(walks)
    return [(walk, reasons[walk.pk]) for walk in walks if reasons[walk.pk]]


def local_days(start: datetime, end: datetime, clock: tzinfo) -> tuple[date, date]:
    """First and last day of a walk on the site's calendar."""
    return start.astimezone(clock).date(), end.astimezone(clock).date()
