"""Say that a follow-up of an incident is done."""

from __future__ import annotations

from datetime import datetime

from bookings.models import FollowUp
from foraywright.floor.acts import act, record
from foraywright.floor.models import User


@act
def settle_follow_up(follow_up: FollowUp, *, by: User, now: datetime) -> bool:
    """Keep who did it and when; whether it was open until now. It leaves the assessments of the site."""
    settled = FollowUp.objects.filter(pk=follow_up.pk, done_at=None).update(done_at=now, done_by=by)
    if settled:
        record("settle follow-up", follow_up, by=by, now=now, fields=("done_at", "done_by"))
    return bool(settled)
