"""Change what is said of an offering as a whole: its title, its lead, how many it needs."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db.models import F
from django.utils.text import slugify

from foraywright.floor.acts import By, act, record
from foraywright.floor.numbering import bump_feed, give_slug
from walks.errors import WalkNotChanged
from walks.models import Offering
from walks.services.publish_walk import FEED


@act
def revise_offering(offering: Offering, facts: Mapping[str, Any], *, by: By, now: datetime) -> Offering:
    """Give `offering` the `facts` (title, lead, theme, fewest, certificate_percent). Raises WalkNotChanged.

    The offering is locked: a sale reads it. A new title gives a new address, and the old one leads there. A published
    offering keeps its theme: people booked what it teaches.
    """
    offering = Offering.objects.select_for_update().get(pk=offering.pk)
    changed = [field for field, value in facts.items() if getattr(offering, field) != value]
    _refuse(offering, changed)
    for field in changed:
        setattr(offering, field, facts[field])
    offering.save(update_fields=changed)
    _tell_the_calendar(offering, changed, now=now)
    record("revise offering", offering, by=by, now=now, fields=tuple(changed))
    return offering


def _refuse(offering: Offering, changed: list[str]) -> None:
    if offering.state == Offering.State.CALLED_OFF:
        raise WalkNotChanged(["It is called off."])
    if not changed:
        raise WalkNotChanged(["Nothing is different."])
    if offering.state == Offering.State.PUBLISHED and "theme" in changed:
        sentence = "It is published, and people booked what its theme teaches. Call it off and schedule another."
        raise WalkNotChanged([sentence], fields={"theme": [sentence]})


def _tell_the_calendar(offering: Offering, changed: list[str], *, now: datetime) -> None:
    """SEQUENCE rises with the title (definitions of our feeds); the rest only says that it was modified."""
    raised = {}
    if "title" in changed:
        first = offering.walks.earliest("starts_at")
        give_slug(
            "offering", f"{slugify(offering.title)[:60] or 'walk'}-{first.local_date}", offering.public_id, now=now
        )
        raised = {"calendar_sequence": F("calendar_sequence") + 1}
    offering.walks.update(**raised, calendar_modified=now)
    bump_feed(FEED, now=now)
