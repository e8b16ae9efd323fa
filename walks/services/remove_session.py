"""Take a session out of a draft."""

from __future__ import annotations

from datetime import datetime

from django.db.models import ProtectedError

from foraywright.floor.acts import By, act, record
from foraywright.floor.numbering import bump_feed
from walks.errors import WalkNotChanged
from walks.models import Offering, Walk
from walks.services.publish_walk import FEED


@act
def remove_session(walk: Walk, *, by: By, now: datetime) -> Offering:
    """Delete `walk` from its draft and number the others anew. Raises WalkNotChanged.

    The offering is locked, so that it cannot be published in between.
    """
    offering = Offering.objects.select_for_update().get(pk=walk.offering_id)
    if offering.state != Offering.State.DRAFT:
        raise WalkNotChanged(["Sessions are taken out of a draft only. Call the course off, or change the session."])
    if offering.walks.count() == 1:
        raise WalkNotChanged(["It is the only session. A draft that is not wanted is called off."])
    try:
        walk.delete()
    except ProtectedError:
        signed = "Somebody has signed its risk assessment or entered a forecast for it; both are kept. Change its date."
        raise WalkNotChanged([signed]) from None
    for number, one in enumerate(offering.walks.order_by("number"), start=1):
        Walk.objects.filter(pk=one.pk).update(number=number)
    kind = Offering.Kind.COURSE if offering.walks.count() > 1 else Offering.Kind.WALK
    Offering.objects.filter(pk=offering.pk).update(kind=kind)
    bump_feed(FEED, now=now)
    record("remove session", offering, by=by, now=now, fields=("sessions",))
    return offering
