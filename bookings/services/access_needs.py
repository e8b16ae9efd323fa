"""Ask for access, and answer."""

from __future__ import annotations

from datetime import datetime

from bookings.errors import NotAnswered
from bookings.models import AccessNeed, Booking
from foraywright.floor.acts import By, act, record
from foraywright.floor.models import User


@act
def ask_for_access(booking: Booking, need: str, *, by: By, now: datetime) -> AccessNeed:
    """Keep what somebody of the booking needs in order to come; a person answers it."""
    asked = AccessNeed.objects.create(booking=booking, need=need, asked_at=now)
    record("ask for access", booking, by=by, now=now, fields=("access need",))
    return asked


@act
def answer_access(need: AccessNeed, answer: str, *, by: User, now: datetime) -> None:
    """Answer an access need under one's own name; a later answer replaces the first. Raises NotAnswered."""
    need = AccessNeed.objects.select_for_update().get(pk=need.pk)
    if not answer.strip():
        raise NotAnswered(
            "The answer is empty.", became="The need still waits.", now="Say what you can do and what not."
        )
    need.answer, need.answered_by, need.answered_at = answer.strip(), by, now
    need.save()
    record("answer an access need", need.booking, by=by, now=now, fields=("access answer",))
