"""Record that a guide is away. Guides fall ill whatever is published, so it is never refused for a walk's sake."""

from __future__ import annotations

from datetime import date, datetime

from foraywright.floor.acts import By, act, record
from walks.errors import GuideNotSaved
from walks.models import Guide, GuideAbsence


@act
def keep_absence(guide: Guide, first_day: date, last_day: date, *, by: By, now: datetime) -> GuideAbsence:
    """Say that `guide` is away from `first_day` to `last_day`, both included. Raises GuideNotSaved.

    The guide's row is locked, as publishing and scheduling lock it.
    """
    guide = Guide.objects.select_for_update().get(pk=guide.pk)
    if last_day < first_day:
        raise GuideNotSaved(
            "The absence would end before it begins.",
            became="Nothing was saved.",
            now="Look at the two days.",
            field="last_day",
        )
    absence = GuideAbsence.objects.create(guide=guide, first_day=first_day, last_day=last_day)
    record("add absence", guide, by=by, now=now, fields=("absences",))
    return absence
