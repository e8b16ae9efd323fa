"""A season as it would be a year later: what is copied, and which papers end before it."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

from django.db.models import Max, Min, Prefetch
from django.urls import reverse

from foraywright.floor.compute.clock_words import day_words
from walks.compute.next_year import a_year_later
from walks.models import Guide, GuideCertificate, InsuranceCover, LandownersPermission, Offering, Site, Walk
from walks.ratio_conditions import is_tidal
from walks.services.schedule_walk import Plan
from walks.services.sessions import Session, session_of

MOST = 150


@dataclass(frozen=True, slots=True)
class Ending:
    """What must be seen to before walks that need it, a paper that ends first or low water: in words, the day on which
    it ends, how many walks need it, where it is."""

    words: str
    ends: date | None
    walks: int
    address: str


def offerings_of(first: date, last: date) -> list[Offering]:
    """What was published with its first walk from `first` to `last`, and has no copy yet; at most 150. Four queries."""
    walks = Walk.objects.select_related("site", "theme").order_by("number")
    published = Offering.objects.exclude(published_at=None).filter(copied_to=None)
    found = published.annotate(begins=Min("walks__local_date")).filter(begins__range=(first, last))
    whole = found.select_related("theme", "prices").prefetch_related(
        Prefetch("walks", queryset=walks), "walks__walk_guides__guide"
    )
    return list(whole.order_by("begins", "pk")[:MOST])


def plan_of(offering: Offering) -> Plan:
    """The offering a year later: guides who are no longer chosen are left out, and low water must be looked up anew.

    A walk is sold under the newest prices, a course under its own. One query a session.
    """
    return Plan(
        title=offering.title,
        theme=offering.theme,
        sessions=tuple(_later(walk) for walk in offering.walks.all()),
        lead=offering.lead,
        fewest=offering.fewest,
        prices=offering.prices if offering.kind == Offering.Kind.COURSE else None,
        certificate_percent=offering.certificate_percent,
    )


def _later(walk: Walk) -> Session:
    session = session_of(walk)
    return replace(
        session,
        local_date=a_year_later(session.local_date),
        fold=None,
        low_water=None,
        papers_later=True,
        guides=tuple(one for one in session.guides if one.active),
        helpers=tuple(one for one in session.helpers if one.active),
    )


def papers_that_end(plans: Sequence[Plan]) -> list[Ending]:
    """The permissions, the cover and the certificates that end before walks of `plans`, and low water of those that go
    by it, each once. Three queries."""
    sessions = [session for plan in plans for session in plan.sessions]
    return [*_permissions(sessions), *_cover(sessions), *_certificates(sessions), *_tides(sessions)]


def _permissions(sessions: Iterable[Session]) -> Iterator[Ending]:
    last = dict(LandownersPermission.objects.values_list("site").annotate(Max("valid_to")).order_by())
    days: dict[Site, list[date]] = defaultdict(list)
    for session in sessions:
        days[session.site].append(session.local_date)
    for site, wanted in days.items():
        yield from _ending(
            f"The landowner's permission for {site}",
            last.get(site.pk),
            wanted,
            reverse("staff_site", args=[site.public_id]),
        )


def _cover(sessions: Iterable[Session]) -> Iterator[Ending]:
    last = InsuranceCover.objects.aggregate(last=Max("valid_to"))["last"]
    yield from _ending("The insurance cover", last, [one.local_date for one in sessions], reverse("staff_covers"))


def _certificates(sessions: Iterable[Session]) -> Iterator[Ending]:
    papers = GuideCertificate.objects.values_list("guide", "kind").annotate(Max("valid_to")).order_by()
    last = {(guide, kind): day for guide, kind, day in papers}
    days: dict[Guide, list[date]] = defaultdict(list)
    for session in sessions:
        for guide in session.staff:
            days[guide].append(session.local_date)
    for guide, wanted in days.items():
        address = reverse("staff_guide", args=[guide.public_id])
        for kind in GuideCertificate.Kind:
            if (guide.pk, kind) in last:
                yield from _ending(f"{guide}: {kind.label.lower()}", last[guide.pk, kind], wanted, address)


def _tides(sessions: Iterable[Session]) -> Iterator[Ending]:
    """No tide is a year later what it was."""
    walks = Counter(one.site for one in sessions if is_tidal(one.site) and one.low_water is None)
    for site, number in walks.items():
        words = f"Low water at {site} is to be taken from a tide table"
        yield Ending(words, None, number, reverse("staff_site", args=[site.public_id]))


def _ending(words: str, ends: date | None, wanted: Iterable[date], address: str) -> Iterator[Ending]:
    after = sum(1 for day in wanted if ends is None or day > ends)
    if after:
        said = f"{words} ends on {day_words(ends)}" if ends else f"{words} is not recorded"
        yield Ending(said, ends, after, address)
