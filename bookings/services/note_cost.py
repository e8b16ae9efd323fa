"""Note what a walk costs, and take it back."""

from __future__ import annotations

from datetime import datetime

from bookings.models import WalkCost
from foraywright.floor.acts import By, act, record
from walks.models import Offering


@act
def note_cost(offering: Offering, *, kind: str, amount_minor: int, for_each: bool, by: By, now: datetime) -> WalkCost:
    """Keep one cost of the offering, in minor units of its currency."""
    cost = WalkCost.objects.create(
        offering=offering, kind=kind, amount_minor=amount_minor, for_each=for_each, noted_at=now
    )
    record("note cost", offering, by=by, now=now, fields=("costs",))
    return cost


@act
def take_cost_back(cost: WalkCost, *, by: By, now: datetime) -> None:
    """Take out a cost that was noted by mistake."""
    record("take cost back", cost.offering, by=by, now=now, fields=("costs",))
    cost.delete()
