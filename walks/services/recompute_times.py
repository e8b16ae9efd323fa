"""Work the UTC instants out again from the wall times: a newer time-zone database may have moved them."""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import available_timezones

from django.db.models import F

from foraywright.floor.acts import By, act, record
from foraywright.floor.numbering import bump_feed
from walks.compute.wall_time import utc_span
from walks.models import Walk, WalkGuide
from walks.services.publish_walk import FEED


@act
def recompute_times(*, by: By, now: datetime) -> list[Walk]:
    """Put right every walk to come whose instants no longer follow from its wall time, and return those moved.

    The walks are locked: somebody could schedule or call off in the same moment. Raises WallTimeRefused where the new
    rules leave a walk's wall time out; nothing is changed then, and a person has to choose another time. A walk whose
    zone they do not know takes that of its site.
    """
    coming = Walk.objects.select_for_update(of=("self",)).select_related("site")
    coming = coming.filter(starts_at__gt=now - timedelta(days=1), called_off_at=None)
    moved = [walk for walk in coming.order_by("pk") if _moves(walk)]
    for walk in moved:
        Walk.objects.filter(pk=walk.pk).update(
            zone=walk.zone,
            starts_at=walk.starts_at,
            ends_at=walk.ends_at,
            calendar_sequence=F("calendar_sequence") + 1,
            calendar_modified=now,
        )
        WalkGuide.objects.filter(walk=walk).update(starts_at=walk.starts_at, ends_at=walk.ends_at)
        record("recompute times", walk, by=by, now=now, fields=("starts_at", "ends_at"))
    if moved:
        bump_feed(FEED, now=now)
    return moved


def _moves(walk: Walk) -> bool:
    wall, before = datetime.combine(walk.local_date, walk.local_time), (walk.zone, walk.starts_at, walk.ends_at)
    if walk.zone not in available_timezones():
        walk.zone = walk.site.zone
    span = utc_span(wall, walk.zone, timedelta(minutes=walk.minutes), walk.fold)
    walk.starts_at, walk.ends_at = span.start, span.end
    return before != (walk.zone, span.start, span.end)
