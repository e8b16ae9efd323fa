"""When a guide may look at what people declared: our rule, as short as the walk needs it."""

from __future__ import annotations

from datetime import datetime, timedelta

BEFORE = timedelta(days=7)
AFTER = timedelta(days=1)


def guide_may_look(starts_at: datetime, ends_at: datetime, *, now: datetime) -> bool:
    """Whether `now` lies between seven days before the walk's start and one day after its end, both ends included."""
    return starts_at - BEFORE <= now <= ends_at + AFTER


def opens_at(starts_at: datetime) -> datetime:
    """From when on a guide may look."""
    return starts_at - BEFORE
