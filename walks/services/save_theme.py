"""Record a theme and the taxa that it hopes to teach."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from curriculum.models import Taxon
from foraywright.floor.acts import By, act, record
from foraywright.floor.numbering import bump_feed
from walks.models import Theme, ThemeTaxon
from walks.services.publish_walk import FEED


@act
def save_theme(
    facts: Mapping[str, Any], taxa: Sequence[str], *, theme: Theme | None = None, by: By, now: datetime
) -> Theme:
    """Add a theme with `facts` (its fields) that teaches `taxa` (keys, in order), or change `theme`.

    Walks of the theme that are published teach what it says from now on; their assessments say so as stale.
    """
    saved = Theme.objects.select_for_update().get(pk=theme.pk) if theme else Theme()
    for field, value in facts.items():
        setattr(saved, field, value)
    saved.save()
    saved.theme_taxa.all().delete()
    known = {one.key: one for one in Taxon.objects.filter(key__in=taxa)}
    rows = (ThemeTaxon(theme=saved, taxon=known[key], place=place) for place, key in enumerate(taxa))
    ThemeTaxon.objects.bulk_create(rows)
    bump_feed(FEED, now=now)
    record("change theme" if theme else "add theme", saved, by=by, now=now, fields=(*facts, "taxa"))
    return saved
