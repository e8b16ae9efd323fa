"""Record an insurance cover, or put one right."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from foraywright.floor.acts import By, act, record
from foraywright.floor.numbering import bump_feed
from walks.errors import refuse_backward_dates
from walks.models import InsuranceCover
from walks.services.publish_walk import FEED


@act
def save_cover(
    facts: Mapping[str, Any], *, cover: InsuranceCover | None = None, by: By, now: datetime
) -> InsuranceCover:
    """Add a cover with `facts` (its fields), or change `cover`. Raises PaperNotSaved.

    Nothing that is published is taken back; `walks.permissions.walks_uninsured` says what has no cover now.
    """
    refuse_backward_dates("The cover", facts)
    saved = cover or InsuranceCover()
    for field, value in facts.items():
        setattr(saved, field, value)
    saved.save()
    bump_feed(FEED, now=now)
    record("change cover" if cover else "add cover", saved, by=by, now=now, fields=tuple(facts))
    return saved
