"""How the messages of the outbox stand, as the office reads and filters them."""

from __future__ import annotations

from collections.abc import Mapping

from django.db.models import Q, QuerySet

from bookings.models import OutboxMessage

OPEN = Q(done_at=None, given_up_at=None)
BY_MAIL_OR_POST = Q(done_at__isnull=False, not_needed="", bounced_at=None, handled_at=None)
NOT_HANDLED = Q(handled_at=None)

STATES: Mapping[str, tuple[str, Q]] = {
    "person": ("needs a person", NOT_HANDLED & (Q(given_up_at__isnull=False) | Q(bounced_at__isnull=False))),
    "handled": ("handled otherwise", Q(handled_at__isnull=False)),
    "trying": ("is tried again", OPEN & ~Q(last_error="")),
    "waiting": ("waiting", OPEN & Q(last_error="")),
    "not_needed": ("not needed", Q(done_at__isnull=False) & ~Q(not_needed="")),
    "post": ("goes by post", BY_MAIL_OR_POST & Q(paper__isnull=False)),
    "sent": ("sent", BY_MAIL_OR_POST & Q(paper=None)),
}
"""Every message is in exactly one of these."""


def needing_a_person() -> QuerySet[OutboxMessage]:
    """Messages that were given up or came back, and that nobody has dealt with. No query by itself."""
    return OutboxMessage.objects.filter(STATES["person"][1])


def state_of(message: OutboxMessage) -> str:
    """The key of the state of a message in hand. No query where `paper` is selected."""
    if message.handled_at is not None:
        return "handled"
    if message.given_up_at is not None or message.bounced_at is not None:
        return "person"
    if message.done_at is not None:
        return "not_needed" if message.not_needed else "post" if hasattr(message, "paper") else "sent"
    return "trying" if message.last_error else "waiting"


def in_words(message: OutboxMessage) -> str:
    """The same in words."""
    return STATES[state_of(message)][0]
