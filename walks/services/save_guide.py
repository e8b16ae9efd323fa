"""Record what a guide may lead, how large a group, how many days a week."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from foraywright.floor.acts import By, act, record
from foraywright.floor.numbering import bump_feed
from walks.errors import GuideNotSaved
from walks.models import Guide
from walks.services.publish_walk import FEED


@act
def save_guide(facts: Mapping[str, Any], *, guide: Guide | None = None, by: By, now: datetime) -> Guide:
    """Add a guide with `facts` (fields of Guide), or change `guide`. Raises GuideNotSaved.

    The guide's row is locked: a walk published in the same moment reads either the old facts or the new ones.
    """
    saved = Guide.objects.select_for_update().get(pk=guide.pk) if guide else Guide()
    login = facts.get("user")
    if login is not None and Guide.objects.filter(user=login).exclude(pk=saved.pk).exists():
        raise GuideNotSaved(
            f"The login “{login.get_username()}” belongs to another guide already.",
            became="Nothing was saved.",
            now="Choose another login, or none.",
            field="user",
        )
    for field, value in facts.items():
        setattr(saved, field, value)
    saved.save()
    bump_feed(FEED, now=now)
    record("change guide" if guide else "add guide", saved, by=by, now=now, fields=tuple(facts))
    return saved
