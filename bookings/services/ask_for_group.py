"""A school or club asks for a walk of its own; what nobody needs any more of it is forgotten."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from django.db.models import QuerySet

from bookings.models import GroupEnquiry
from foraywright.floor.acts import By, act, record, require_act

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
    empty_enquiries(GroupEnquiry.objects.filter(asked_at__lte=now - KEPT), now=now)


def empty_enquiries(enquiries: QuerySet[GroupEnquiry], *, now: datetime) -> None:
    """The step that empties what was told in `enquiries`, those left out that are empty already."""
    require_act()
    enquiries.filter(forgotten_at=None).update(**dict.fromkeys(GroupEnquiry.TOLD, ""), forgotten_at=now)
