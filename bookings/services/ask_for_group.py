"""A school or club asks for a walk of its own; what nobody needs any more of it is forgotten."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from django.db.models import QuerySet

from bookings.models import GroupEnquiry, GroupQuote, OutboxMessage
from bookings.retention import ERASED
from foraywright.floor.acts import By, act, record, require_act
from foraywright.floor.models import LinkSecret

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
    """The step that empties what was told in `enquiries`, those left out that are empty already.

    The links of their quotes are shut, and the letters with them emptied.
    """
    require_act()
    told = list(enquiries.filter(forgotten_at=None).values_list("pk", flat=True))
    quotes = GroupQuote.objects.filter(enquiry__in=told)
    shut_quotes(quotes, now=now)
    GroupEnquiry.objects.filter(pk__in=told).update(**dict.fromkeys(GroupEnquiry.TOLD, ""), forgotten_at=now)
    letters = OutboxMessage.objects.filter(quote__in=quotes)
    letters.update(as_sent=None, former_address=None)
    letters.exclude(handled_why="").update(handled_why=ERASED)


def shut_quotes(quotes: QuerySet[GroupQuote], *, now: datetime) -> None:
    """The step by which no link that was sent before opens `quotes` any more."""
    require_act()
    scopes = list(quotes.values_list("public_id", flat=True))
    LinkSecret.objects.filter(purpose=LinkSecret.Purpose.QUOTE, scope__in=scopes, revoked_at=None).update(
        revoked_at=now
    )
