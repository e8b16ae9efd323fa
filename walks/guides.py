"""Guides as the rules read them, and what stands against the walks that they are down for."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Q, prefetch_related_objects

from curriculum.models import Taxon
from walks.compute.guide_rules import GuideRecord, Objection, Outing, Paper, objections
from walks.models import Guide, GuideCertificate, MayLead, Theme, Walk, WalkGuide

WORDS = {MayLead.FUNGUS: "fungi", MayLead.PLANT: "plants", MayLead.SEAWEED: "seaweeds"}
IN_THE_DARK = (str(MayLead.NIGHT), "walks in the dark")


def record_of(guide: Guide) -> GuideRecord:
    """The guide for the rules. No query where certificates and absences are prefetched, else two."""
    papers = [
        Paper(
            one.kind, f"The certificate “{one.title}” ({one.get_kind_display().lower()})", one.valid_from, one.valid_to
        )
        for one in guide.certificates.all()
    ]
    absences = [(one.first_day, one.last_day) for one in guide.absences.all()]
    return GuideRecord(guide.name, guide.days_a_week, frozenset(guide.may_lead), tuple(papers), tuple(absences))


def asks_of(theme: Theme, covers: Sequence[str], *, night: bool) -> tuple[tuple[str, str], ...]:
    """What whoever leads a walk of `theme` must be recorded for. One query."""
    taught = Q(key__in=covers) if covers else Q(themes=theme)
    groups = Taxon.objects.filter(taught).values_list("group", flat=True).distinct()
    return (*((one, WORDS[MayLead(one)]) for one in sorted(groups)), *((IN_THE_DARK,) if night else ()))


def days_out(guide: Guide, around: date, *, besides: int | None = None) -> list[date]:
    """Days within a week of `around` on which the guide is out, drafts counted, the walk `besides` not. One query."""
    week = (around - timedelta(days=6), around + timedelta(days=6))
    outings = WalkGuide.objects.filter(guide=guide, live=True, walk__local_date__range=week).exclude(walk=besides)
    return list(outings.values_list("walk__local_date", flat=True))


def against_walk(walk: Walk) -> Iterator[tuple[Guide, Objection]]:
    """What stands against the guides of `walk` going out, as everything is recorded now. Three queries, one a guide."""
    outings = list(walk.walk_guides.all())
    prefetch_related_objects([one.guide for one in outings], "certificates", "absences")
    asks = asks_of(walk.subject, walk.covers, night=walk.is_night_walk)
    for outing in outings:
        leads = outing.role == WalkGuide.Role.LEADS
        wanted = Outing(walk.local_start.date(), walk.local_end.date(), leads, asks)
        others = days_out(outing.guide, walk.local_date, besides=walk.pk)
        for objection in objections(record_of(outing.guide), wanted, others):
            yield outing.guide, objection


def first_aider_on(outings: Iterable[WalkGuide], day: date) -> bool:
    """Whether a grown one of `outings` has a first-aid certificate in force. No query with certificates prefetched."""
    kind = GuideCertificate.Kind.FIRST_AID
    held = [one for outing in outings if outing.guide.adult for one in outing.guide.certificates.all()]
    return any(one.kind == kind and one.covers(day) for one in held)


def lost_cover(walk: Walk) -> list[str]:
    """Why the guides of `walk` no longer suffice: sentences, none where all is well."""
    sentences = list(dict.fromkeys(one.sentence for _, one in against_walk(walk)))
    if not first_aider_on(walk.walk_guides.all(), walk.local_date):
        sentences.append("Nobody who goes along has a first-aid certificate in force that day.")
    return sentences


def walks_without_cover(*, now: datetime) -> list[tuple[Walk, list[str]]]:
    """Published walks to come whose guides no longer suffice, with the reasons, soonest first."""
    coming = Walk.objects.filter(starts_at__gt=now, called_off_at=None, offering__state="published")
    walks = coming.select_related("offering__theme", "theme").prefetch_related("walk_guides__guide__certificates")
    return [(walk, reasons) for walk in walks if (reasons := lost_cover(walk))]


def local_days(start: datetime, end: datetime, zone: str) -> tuple[date, date]:
    """First and last day of a walk on the site's calendar."""
    return start.astimezone(ZoneInfo(zone)).date(), end.astimezone(ZoneInfo(zone)).date()
