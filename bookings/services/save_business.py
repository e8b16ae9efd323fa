"""Record who runs the walks."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from bookings.models import Transfer
from curriculum.queries import SPECIES_FEED
from foraywright.floor.acts import By, act, record
from foraywright.floor.models import Business
from foraywright.floor.numbering import bump_feed
from walks.services.publish_walk import FEED


def set_for_good() -> tuple[str, ...]:
    """The fields of an existing Business that are not changed any more. One query."""
    return ("calendar_domain", "currency") if Transfer.objects.exists() else ("calendar_domain",)


@act
def save_business(facts: Mapping[str, Any], *, by: By, now: datetime) -> Business:
    """Write `facts` (fields of Business), on an empty start as its one row.

    The domain of the calendar entries is set once: every UID that was ever given out ends with it. So is the currency
    from the first transfer on: sums over the ledger would otherwise add pounds to euros.
    """
    saved = Business.objects.select_for_update().first()
    is_new = saved is None
    saved = saved or Business()
    kept = {} if is_new else {name: getattr(saved, name) for name in set_for_good()}
    for field, value in {**facts, **kept}.items():
        setattr(saved, field, value)
    saved.save(force_insert=is_new)
    for feed in (FEED, SPECIES_FEED):
        bump_feed(feed, now=now)
    record("add business" if is_new else "change business", saved, by=by, now=now, fields=tuple(facts))
    return saved
