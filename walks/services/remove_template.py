"""Throw a template away. What was scheduled from it stays."""

from __future__ import annotations

from datetime import datetime

from foraywright.floor.acts import By, act, record
from walks.models import OfferingTemplate


@act
def remove_template(template: OfferingTemplate, *, by: By, now: datetime) -> None:
    """Delete `template` and its sessions."""
    record("remove template", template, by=by, now=now)
    template.delete()
