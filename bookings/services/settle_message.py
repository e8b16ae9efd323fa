"""Deal with a letter that was given up or came back: send it again, or say what was done instead."""

from __future__ import annotations

from datetime import datetime

from bookings.errors import LetterNotSettled
from bookings.models import OutboxMessage
from bookings.outbox_states import state_of
from foraywright.floor.acts import By, act, record, require_act

LONGEST = 200


@act
def retry_message(message: OutboxMessage, *, by: By, now: datetime) -> OutboxMessage:
    """Let the worker send `message` once more, under the same Message-ID. Raises LetterNotSettled."""
    message = _locked(message)
    message.due_at, message.attempts, message.last_error = now, 0, ""
    message.done_at = message.given_up_at = message.bounced_at = None
    message.bounce_status = ""
    message.save()
    record("send letter again", message.about, by=by, now=now, fields=("messages",))
    return message


@act
def handle_otherwise(message: OutboxMessage, *, how: str, by: By, now: datetime) -> OutboxMessage:
    """Note what a person did instead ("telephoned on Monday"). Raises LetterNotSettled."""
    message = _locked(message)
    how = how.strip()
    if not 0 < len(how) <= LONGEST:
        raise LetterNotSettled("The letter was not settled.", why=[f"Say how, in at most {LONGEST} characters."])
    message.handled_at, message.handled_why, message.former_address = now, how, None
    message.save(update_fields=["handled_at", "handled_why", "former_address"])
    record("handle letter otherwise", message.about, by=by, now=now, fields=("messages",))
    return message


def _locked(message: OutboxMessage) -> OutboxMessage:
    """The row is locked: two people may press at once, or the worker may have it in hand."""
    require_act()
    message = OutboxMessage.objects.select_for_update().get(pk=message.pk)
    if state_of(message) != "person":
        raise LetterNotSettled("This letter does not wait for a person any more.", became="Nothing was changed.")
    return message
