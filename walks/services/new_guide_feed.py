"""Make the private link of a guide's calendar; an earlier one is dead from then on."""

from __future__ import annotations

from datetime import datetime, timedelta

from foraywright.floor.acts import By, act, record
from foraywright.floor.links import make_link
from foraywright.floor.models import LinkSecret
from walks.models import Guide

HOLDS = timedelta(days=3 * 365)


@act
def new_guide_feed(guide: Guide, *, by: By, now: datetime) -> str:
    """The token of the new link, which is stored hashed and shown once. The guide is locked: two would both be live."""
    guide = Guide.objects.select_for_update().get(pk=guide.pk)
    purpose = LinkSecret.Purpose.FEED
    LinkSecret.objects.filter(purpose=purpose, scope=guide.public_id, revoked_at=None).update(revoked_at=now)
    token = make_link(purpose, guide.public_id, expires_at=now + HOLDS, now=now)
    record("new calendar link", guide, by=by, now=now, fields=("calendar_link",))
    return token
