"""Put a new version of a policy in force."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from bookings.errors import PolicyNotSet
from foraywright.floor.acts import By, act, record
from foraywright.floor.models import Business, PolicyVersion


@act
def set_policy(kind: str, body: Mapping[str, Any], source: str, *, by: By, now: datetime) -> PolicyVersion:
    """Write `body` as the next version of the policy `kind`. What was sold keeps the version it was sold under.

    The business is locked: two people would otherwise write one version number. Raises PolicyNotSet without one.
    """
    business = Business.objects.select_for_update().first()
    if business is None:
        raise PolicyNotSet(
            "The policy was not set: there is no business yet.",
            became="Nothing was saved.",
            now="Record the business details first.",
        )
    newest = PolicyVersion.objects.filter(kind=kind).order_by("-number").values_list("number", flat=True).first() or 0
    policy = PolicyVersion.objects.create(kind=kind, number=newest + 1, body=dict(body), source=source, since=now)
    record("set policy", business, by=by, now=now, fields=(kind,), reason=str(policy))
    return policy
