"""Put the counterpart of a walk or course in the calendar, a year later, as a draft."""

from __future__ import annotations

from datetime import datetime

from foraywright.floor.acts import By, act
from walks.errors import WalkNotCopied
from walks.models import Offering
from walks.season_copy import plan_of
from walks.services.schedule_walk import put_in_calendar


@act
def copy_offering(source: Offering, *, by: By, now: datetime) -> Offering:
    """Save the draft and return it. Raises WalkNotCopied where there is one already, WalkNotScheduled with every fault.

    The source is locked: two people copying one season at once would otherwise make two drafts of a walk.
    """
    source = Offering.objects.select_for_update().get(pk=source.pk)
    if Offering.objects.filter(copied_from=source).exists():
        raise WalkNotCopied(
            f"“{source.title}” was copied already.",
            became="Nothing was saved twice.",
            now="Look for it among the drafts.",
        )
    copy = put_in_calendar(plan_of(source), by=by, now=now)
    copy.copied_from = source
    copy.save(update_fields=["copied_from"])
    return copy
