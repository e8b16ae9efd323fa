"""Change a walk: its time, its place, its guides, what it covers. Whoever booked is told through a row that stays."""

from __future__ import annotations

from datetime import datetime

from bookings.queries import statement_of
from foraywright.floor.acts import By, act, record
from walks.compute.ratios import RatioStatement
from walks.errors import WalkNotChanged
from walks.models import Offering, Walk
from walks.queries import with_everything
from walks.services.change_session import change_session
from walks.services.sessions import Session


@act
def change_walk(walk: Walk, session: Session, *, why: str, by: By, now: datetime) -> Walk:
    """Make `walk` what `session` says, and return it. Raises WalkNotChanged.

    The offering is locked, then its walks: a sale in the same moment would otherwise count with the limits of before.
    What a published walk changed stands in a WalkChange, which the worker of this room claims.
    """
    offering = Offering.objects.select_for_update().get(pk=walk.offering_id)
    list(Walk.objects.select_for_update().filter(offering=offering).order_by("pk"))
    walk = with_everything(Walk.objects.filter(pk=walk.pk)).get()
    before = statement_of(walk, now=now)
    change = change_session(walk, session, why=why, by=by, now=now)
    changed = with_everything(Walk.objects.filter(pk=walk.pk)).get()
    _refuse_who_no_longer_fits(before, statement_of(changed, now=now))
    fields = tuple(one["field"] for one in change.what) if change else ("session",)
    record("change walk", offering, by=by, now=now, fields=fields, reason=why)
    return changed


def _refuse_who_no_longer_fits(before: RatioStatement, after: RatioStatement) -> None:
    """A limit that was broken already may stay so: whoever mends half of it does no harm."""
    slack = {line.key: line.slack for line in before.lines}
    worse = [line.sentence for line in after.lines if not line.kept and line.slack < slack.get(line.key, 0)]
    if worse:
        raise WalkNotChanged(["Those who have booked would no longer fit.", *worse])
