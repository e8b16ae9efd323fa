"""Say at the meeting point that one of our own did not come, or came after all."""

from __future__ import annotations

from datetime import datetime, timedelta

from foraywright.floor.acts import act, record
from foraywright.floor.models import User
from walks.errors import GuideNotMissed
from walks.models import Walk, WalkGuide

EARLIEST = timedelta(hours=2)


@act
def say_who_guides(outing: WalkGuide, *, here: bool, by: User, now: datetime) -> None:
    """Count the guide of `outing` among our people on the day, or not; the same again changes nothing.

    The walk is locked: it could otherwise start in the same moment with the limits of before. Raises GuideNotMissed
    before anybody can have come.
    """
    walk = Walk.objects.select_for_update(of=("self",)).select_related("offering").get(pk=outing.walk_id)
    if now < walk.starts_at - EARLIEST or walk.called_off_at is not None:
        raise GuideNotMissed(
            "Nobody can be missed yet.",
            became="All of ours count as before.",
            now="Say it on the day, or change the walk.",
        )
    outings = WalkGuide.objects.filter(pk=outing.pk, missing_since__isnull=not here)
    if outings.update(missing_since=None if here else now):
        reason = f"{outing.guide} {'is here' if here else 'did not come'}"
        record("say who guides", walk.offering, by=by, now=now, fields=("guides",), reason=reason)
