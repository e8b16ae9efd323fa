"""Record a landowner's permission, or put one right."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from foraywright.floor.acts import By, act, record
from foraywright.floor.numbering import bump_feed
from walks.errors import PaperNotSaved, refuse_backward_dates
from walks.models import LandownersPermission, Site
from walks.services.publish_walk import FEED


@act
def save_permission(
    site: Site,
    facts: Mapping[str, Any],
    *,
    permission: LandownersPermission | None = None,
    by: By,
    now: datetime,
) -> LandownersPermission:
    """Add a permission with `facts` (its fields but the site), or change `permission`. Raises PaperNotSaved.

    The permissions of the site are locked, as publishing locks them: of two who meet, the second reads what the first
    has saved. Nothing that is published is taken back; `walks.permissions.walks_outside` says what lies outside now.
    """
    list(LandownersPermission.objects.select_for_update().filter(site=site).order_by("pk"))
    refuse_backward_dates("The permission", facts)
    if facts["most_people"] < 1 or facts.get("days_a_year") == 0:
        raise PaperNotSaved(
            "The permission would let nobody in.",
            became="Nothing was saved.",
            now="Look at the group size and the days a year.",
            field="most_people",
        )
    saved = permission or LandownersPermission(site=site)
    for field, value in facts.items():
        setattr(saved, field, value)
    saved.save()
    bump_feed(FEED, now=now)
    record("change permission" if permission else "add permission", saved, by=by, now=now, fields=tuple(facts))
    return saved
