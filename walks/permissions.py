"""Walks against the landowners' permissions and the insurance cover, as they are recorded now."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Sequence
from datetime import MINYEAR, date, datetime

from django.db.models import Exists, OuterRef, QuerySet

from walks.compute.permission_rules import Visit, against_visit
from walks.models import InsuranceCover, LandownersPermission, Offering, Site, Walk


def against_permission(walk: Walk, planned: Iterable[Walk] = ()) -> Iterator[str]:
    """What stands against `walk` at its site, a sentence each. `planned`: walks that are published together with it.

    Two queries, or three where guides are not prefetched.
    """
    year = walk.local_date.year
    own = {one.local_date for one in planned if one.site_id == walk.site_id and one.local_date.year == year}
    yield from _against(walk, _permissions().filter(site=walk.site_id), days_taken_in(walk.site, year) | own)


def _against(walk: Walk, permissions: Iterable[LandownersPermission], days_taken: Collection[date]) -> Iterator[str]:
    visit = Visit(
        site=str(walk.site),
        first_day=walk.local_date,
        last_day=walk.local_end.date(),
        fewest=walk.offering.fewest + len(walk.walk_guides.all()),
        days_taken=days_taken,
    )
    yield from against_visit([one.rule for one in permissions], visit)


def _permissions() -> QuerySet[LandownersPermission]:
    return LandownersPermission.objects.order_by("-most_people", "pk")


def days_taken_in(site: Site, year: int) -> set[date]:
    """The days of `year` that published walks take at `site`; two walks on a day take one. One query."""
    walks = _published().filter(site=site, local_date__year=year)
    return set(walks.values_list("local_date", flat=True))


def _published() -> QuerySet[Walk]:
    return Walk.objects.filter(offering__state=Offering.State.PUBLISHED, called_off_at=None)


def coming_walks(*, now: datetime) -> QuerySet[Walk]:
    """Published walks to come with site, offering and guides, soonest first: two queries."""
    coming = _published().filter(starts_at__gt=now)
    return coming.select_related("site", "offering").prefetch_related("walk_guides")


def walks_outside(*, now: datetime, site: Site | None = None) -> list[tuple[Walk, list[str]]]:
    """Published walks to come (at `site`, if given) that lie outside the permissions now, and why. Four queries."""
    walks = list(coming_walks(now=now).filter(site=site) if site else coming_walks(now=now))
    permissions, days = _permissions_by_site(walks), _days_by_site_and_year(walks)
    judged = (
        (walk, list(_against(walk, permissions[walk.site_id], days[walk.site_id, walk.local_date.year])))
        for walk in walks
    )
    return [(walk, reasons) for walk, reasons in judged if reasons]


def _permissions_by_site(walks: Sequence[Walk]) -> dict[int, list[LandownersPermission]]:
    found: dict[int, list[LandownersPermission]] = defaultdict(list)
    for one in _permissions().filter(site__in={walk.site_id for walk in walks}):
        found[one.site_id].append(one)
    return found


def _days_by_site_and_year(walks: Sequence[Walk]) -> dict[tuple[int, int], set[date]]:
    found: dict[tuple[int, int], set[date]] = defaultdict(set)
    years = {walk.local_date.year for walk in walks} or {MINYEAR}
    within = (date(min(years), 1, 1), date(max(years), 12, 31))
    taken = _published().filter(site__in={walk.site_id for walk in walks}, local_date__range=within)
    for site, day in taken.values_list("site", "local_date"):
        found[site, day.year].add(day)
    return found


def walks_uninsured(*, now: datetime) -> list[Walk]:
    """Published walks to come on whose day no cover is in force. Two queries."""
    day = OuterRef("local_date")
    covers = InsuranceCover.objects.filter(valid_from__lte=day, valid_to__gte=day)
    return list(coming_walks(now=now).exclude(Exists(covers)))
