"""Record a certificate of a guide, or put its dates right."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from foraywright.floor.acts import By, act, record
from foraywright.floor.numbering import bump_feed
from walks.errors import GuideNotSaved
from walks.models import Guide, GuideCertificate
from walks.services.publish_walk import FEED


@act
def save_certificate(
    guide: Guide, facts: Mapping[str, Any], *, certificate: GuideCertificate | None = None, by: By, now: datetime
) -> GuideCertificate:
    """Add a certificate with `facts` (its fields but the guide), or change `certificate`. Raises GuideNotSaved.

    The guide's row is locked, as publishing locks it: of two who meet, the second reads what the first has saved.
    Nothing that is published is taken back; `walks.guides.walks_without_cover` says what has lost its cover.
    """
    Guide.objects.select_for_update().get(pk=guide.pk)
    if facts["valid_to"] < facts["valid_from"]:
        raise GuideNotSaved(
            "The certificate would end before it begins.",
            became="Nothing was saved.",
            now="Look at the two dates.",
            field="valid_to",
        )
    saved = certificate or GuideCertificate(guide=guide)
    for field, value in facts.items():
        setattr(saved, field, value)
    saved.save()
    bump_feed(FEED, now=now)
    record("change certificate" if certificate else "add certificate", guide, by=by, now=now, fields=tuple(facts))
    return saved
