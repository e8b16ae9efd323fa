"""The step that calls off an offering. Bookings does the act, since those who booked must hear of it."""

from __future__ import annotations

from datetime import datetime

from django.db.models import F

from foraywright.floor.acts import require_act
from foraywright.floor.numbering import bump_feed
from walks.errors import WalkNotCalledOff
from walks.models import Offering, WalkGuide
from walks.services.publish_walk import FEED


def against_calling_off(offering: Offering, *, now: datetime) -> WalkNotCalledOff | None:
    """Why the walk cannot be called off; None where it can. At most one query."""
    if offering.state == Offering.State.CALLED_OFF:
        return WalkNotCalledOff("This walk is called off already.", became="Nothing was changed.")
    if not offering.walks.filter(ends_at__gt=now).exists():
        return WalkNotCalledOff("This walk is over.", became="Nothing was changed.")
    return None


def call_off(offering: Offering, *, why: str, now: datetime) -> None:
    """Call off the locked `offering` and all its walks to come; guides are free again. Raises WalkNotCalledOff."""
    require_act()
    if (refusal := against_calling_off(offering, now=now)) is not None:
        raise refusal
    offering.state, offering.called_off_at, offering.called_off_why = Offering.State.CALLED_OFF, now, why
    offering.save(update_fields=["state", "called_off_at", "called_off_why"])
    coming = offering.walks.filter(ends_at__gt=now)
    coming.update(called_off_at=now, calendar_sequence=F("calendar_sequence") + 1, calendar_modified=now)
    WalkGuide.objects.filter(walk__offering=offering, walk__called_off_at=now).update(live=False)
    bump_feed(FEED, now=now)
