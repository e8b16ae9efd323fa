"""Note that a letter came back, so that a person telephones instead."""

from __future__ import annotations

from datetime import datetime

from bookings.compute.delivery_reports import Failure
from bookings.models import OutboxMessage
from foraywright.floor.acts import By, act, record


@act
def note_bounce(failure: Failure, *, by: By, now: datetime) -> bool:
    """Mark the message of `failure`; whether it is one of ours. The same report again changes nothing."""
    message = OutboxMessage.objects.select_for_update().filter(message_id=failure.message_id).first()
    if message is None:
        return False
    if message.bounced_at is None and message.handled_at is None:
        message.bounced_at, message.bounce_status = now, failure.status
        message.save(update_fields=["bounced_at", "bounce_status"])
        record("note bounce", message.about, by=by, now=now, fields=("messages",))
    return True
