"""Who was taken on at the meeting point without a booking, as pages show it."""

from __future__ import annotations

from django.db.models import QuerySet

from bookings.models import WalkUp
from walks.models import Offering, Walk


def walk_ups_of(walk: Walk) -> QuerySet[WalkUp]:
    """Who was taken on at the meeting point of `walk`, with booking, people and who added them. Two queries."""
    found = WalkUp.objects.filter(walk=walk).select_related("booking__party__contact", "added_by", "copy", "looked_by")
    return found.prefetch_related("booking__party__people").order_by("recorded_at", "pk")


def to_look_at() -> QuerySet[WalkUp]:
    """Parties that came against a limit, and nobody has looked at it. One query."""
    found = WalkUp.objects.filter(looked_at=None).exclude(against=[])
    return found.select_related("walk__offering").order_by("recorded_at", "pk")


def over_limits(offering: Offering) -> QuerySet[WalkUp]:
    """Parties of the offering that were taken on over a limit, looked at or not. One query."""
    found = WalkUp.objects.filter(walk__offering=offering).exclude(against=[])
    return found.select_related("walk", "looked_by").order_by("recorded_at", "pk")
