"""Say that a follow-up of an incident is done, and whether every walk at the site does it from now on."""

from __future__ import annotations

from datetime import datetime

from bookings.models import FollowUp
from foraywright.floor.acts import act, record
from foraywright.floor.models import User


@act
def settle_follow_up(follow_up: FollowUp, *, lasts: bool = False, by: User, now: datetime) -> bool:
    """Keep who did it and when; whether it was open until now.

    It is no longer open in the assessments of the site. Where it `lasts` it stands there as a control instead, and what
    was signed before turns stale.
    """
    settled = FollowUp.objects.filter(pk=follow_up.pk, done_at=None).update(done_at=now, done_by=by, lasts=lasts)
    if settled:
        record("settle follow-up", follow_up, by=by, now=now, fields=("done_at", "done_by", "lasts"))
    return bool(settled)


@act
def end_lasting(follow_up: FollowUp, *, by: User, now: datetime) -> bool:
    """Take what lasts out of the assessments of the site; whether it stood there until now."""
    ended = FollowUp.objects.filter(pk=follow_up.pk, lasts=True).update(lasts=False)
    if ended:
        record("end lasting control", follow_up, by=by, now=now, fields=("lasts",))
    return bool(ended)
