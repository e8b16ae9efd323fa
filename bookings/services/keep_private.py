"""Keep a walk for one group: it never stands on the public programme."""

from __future__ import annotations

from datetime import datetime

from bookings.errors import NotQuoted
from foraywright.floor.acts import By, act, record
from walks.models import Offering


@act
def keep_private(offering: Offering, *, by: By, now: datetime) -> Offering:
    """Make a draft private. Raises NotQuoted for what was public already: people may have it in their calendars."""
    offering = Offering.objects.select_for_update().get(pk=offering.pk)
    if offering.state != Offering.State.DRAFT:
        raise NotQuoted("Only a draft can be kept for a group.", became="The walk stays as it was.")
    offering.private = True
    offering.save(update_fields=["private"])
    record("keep for a group", offering, by=by, now=now, fields=("private",))
    return offering
