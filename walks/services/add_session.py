"""Add a session to a draft, which makes it a course."""

from __future__ import annotations

from datetime import datetime

from foraywright.floor.acts import By, act, record
from foraywright.floor.numbering import bump_feed
from walks.errors import WalkNotChanged
from walks.models import Offering, Walk
from walks.services.publish_walk import FEED
from walks.services.sessions import Session, placed_in, with_guides_locked, write_walk


@act
def add_session(offering: Offering, session: Session, *, by: By, now: datetime) -> Walk:
    """Add `session` after the others of the draft `offering`. Raises WalkNotChanged.

    The offering is locked, so that it cannot be published in between; the guides as in scheduling.
    """
    offering = Offering.objects.select_for_update().get(pk=offering.pk)
    if offering.state != Offering.State.DRAFT:
        raise WalkNotChanged(["Sessions are added to a draft only: those who booked would not have a place on it."])
    [session] = with_guides_locked([session])
    placed = placed_in(offering, session, walk=None, now=now)
    last = offering.walks.latest("number").number
    walk = write_walk(offering, last + 1, placed, now=now)
    Offering.objects.filter(pk=offering.pk).update(kind=Offering.Kind.COURSE)
    bump_feed(FEED, now=now)
    record("add session", offering, by=by, now=now, fields=("sessions",))
    return walk
