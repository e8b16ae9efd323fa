"""A school or club asks for a walk of its own; what nobody needs any more of it is forgotten."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from bookings.models import GroupEnquiry
from foraywright.floor.acts import By, act, record

KEPT = timedelta(days=365)


@act
def ask_for_group(facts: Mapping[str, Any], *, by: By, now: datetime) -> GroupEnquiry:
    """Keep the enquiry: `facts` are fields of GroupEnquiry."""
    enquiry = GroupEnquiry.objects.create(asked_at=now, **facts)
    record("ask for group", enquiry, by=by, now=now, fields=tuple(facts))
    return enquiry


@act
def forget_enquiries(*, now: datetime) -> None:
    """Take what is personal out of enquiries of a year ago; of those that became a booking it stands there."""
    old = GroupEnquiry.objects.filter(asked_at__lte=now - KEPT, forgotten_at=None)
    old.update(name="", email="", phone="", needs="", forgotten_at=now)
