"""Erasing what is overdue, one piece at a time, as the worker does it."""

from __future__ import annotations

from datetime import datetime

from bookings.services.erase import ERASINGS


def erase_next_overdue(*, now: datetime) -> bool:
    """Erase the next that is overdue; whether there was any."""
    return any(erase(now=now) for erase in ERASINGS)
