"""Say that a guide is not away after all."""

from __future__ import annotations

from datetime import datetime

from foraywright.floor.acts import By, act, record
from walks.models import Guide, GuideAbsence


@act
def remove_absence(absence: GuideAbsence, *, by: By, now: datetime) -> None:
    """Delete `absence`. The guide's row is locked, as publishing and scheduling lock it."""
    guide = Guide.objects.select_for_update().get(pk=absence.guide_id)
    absence.delete()
    record("remove absence", guide, by=by, now=now, fields=("absences",))
