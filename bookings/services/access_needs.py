"""Ask for access, and answer."""

from __future__ import annotations

from datetime import datetime

from bookings.errors import NotAnswered
from bookings.models import AccessNeed, Booking, OutboxMessage
from bookings.services.outbox import write_to
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
    """Answer an access need under one's own name; a later answer replaces the first. Raises NotAnswered.

    The party is told that it was answered, never what: both may speak of health. The booking is locked, since two
    answers at once would count as one letter.
    """
    booking = Booking.objects.select_for_update(of=("self",)).select_related("party__contact").get(pk=need.booking_id)
    need = AccessNeed.objects.select_for_update().get(pk=need.pk)
    if not answer.strip():
        raise NotAnswered(
            "The answer is empty.", became="The need still waits.", now="Say what you can do and what not."
        )
    need.answer, need.answered_by, need.answered_at = answer.strip(), by, now
    need.save()
    told = booking.messages.filter(kind=OutboxMessage.Kind.ACCESS).count()
    write_to(booking, OutboxMessage.Kind.ACCESS, version=told + 1, now=now)
    record("answer an access need", booking, by=by, now=now, fields=("access answer",))
