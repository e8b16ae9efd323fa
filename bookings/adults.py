"""Walks with too few adults for the children who come, and who is asked to help."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from bookings.models import Booking, OutboxMessage
from bookings.queries import parties_of_each
from walks.compute.head_count import count_parties
from walks.compute.limits import LimitLine, limit_lines
from walks.models import Walk
from walks.queries import limits_of, with_everything


def broken_lines(walks: Sequence[Walk], *, now: datetime) -> dict[int, list[LimitLine]]:
    """The limits that each of `walks` is against, by its key. Three queries, with everything prefetched."""
    limits, parties = limits_of(walks), parties_of_each(walks, now=now)
    found = {}
    for walk in walks:
        allowed = limits[walk.pk]
        coming = count_parties(allowed.policy, parties[walk.pk])
        lines = limit_lines(allowed.policy, allowed.caps, allowed.staff, coming)
        found[walk.pk] = [line for line in lines if not line.kept]
    return found


def short_of_adults(walk_id: int, *, now: datetime) -> str:
    """What the walk's rules about adults and children miss, in sentences; empty where nothing. Some seven queries."""
    walks = list(with_everything(Walk.objects.filter(pk=walk_id)))
    broken = broken_lines(walks, now=now).get(walk_id, [])
    return " ".join(line.sentence for line in broken if not line.counts_people)


def asked_for_an_adult(booking: Booking, *, now: datetime) -> bool:
    """Whether the party was asked to bring another adult and one is still missing: such an adult comes free of charge,
    and who rather leaves gets everything back (our rule). One query where nobody was asked.
    """
    asked = OutboxMessage.objects.filter(booking=booking, kind=OutboxMessage.Kind.SHORT_OF_ADULTS, not_needed="")
    walks = Walk.objects.filter(pk__in=asked.values("version"), offering=booking.offering_id, starts_at__gt=now)
    return any(short_of_adults(key, now=now) for key in walks.values_list("pk", flat=True))
