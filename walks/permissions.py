"""Walks against the landowners' permissions, as they are recorded now."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date, datetime

from walks.compute.permission_rules import Visit, against_visit
from walks.models import LandownersPermission, Offering, Walk


def against_permission(walk: Walk, planned: Iterable[Walk] = ()) -> Iterator[str]:
    """What stands against `walk` at its site, a sentence each. `planned`: walks that are published together with it.

    Two queries, or three where guides are not prefetched.
    """
    permissions = LandownersPermission.objects.filter(site=walk.site_id).order_by("-most_people", "pk")
    visit = Visit(
        site=str(walk.site),
        first_day=walk.local_date,
        last_day=walk.local_end.date(),
        fewest=walk.offering.fewest + len(walk.walk_guides.all()),
        days_taken=_days_taken(walk, planned),
    )
    yield from against_visit([one.rule for one in permissions], visit)


def _days_taken(walk: Walk, planned: Iterable[Walk]) -> set[date]:
    """The days of the year that published walks and `planned` ones take at the site; a day taken twice is one."""
    year = walk.local_date.year
    live = Walk.objects.filter(site=walk.site_id, local_date__year=year, called_off_at=None)
    taken = set(live.filter(offering__state=Offering.State.PUBLISHED).values_list("local_date", flat=True))
    return taken | {one.local_date for one in planned if one.site_id == walk.site_id and one.local_date.year == year}


def walks_outside(*, now: datetime) -> list[tuple[Walk, list[str]]]:
    """Published walks to come that a permission no longer covers, with the reasons, soonest first. Two queries each."""
    coming = Walk.objects.filter(starts_at__gt=now, called_off_at=None, offering__state=Offering.State.PUBLISHED)
    walks = coming.select_related("site", "offering").prefetch_related("walk_guides")
    return [(walk, reasons) for walk in walks if (reasons := list(against_permission(walk)))]
