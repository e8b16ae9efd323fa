"""The steps that put a message in the outbox, in the transaction of the act that has something to say."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from bookings.models import Booking, GroupQuote, OutboxMessage
from foraywright.floor.acts import require_act
from foraywright.floor.ids import new_public_id
from foraywright.floor.models import Business


def write_to(booking: Booking, kind: str, *, version: int | None = None, now: datetime) -> None:
    """Intend one message of `kind` to the booking's contact; the same intent twice is one row.

    The intent's version is the booking's, unless something else is what the message is about.
    """
    require_act()
    OutboxMessage.objects.get_or_create(
        contact=booking.party.contact,
        booking=booking,
        kind=kind,
        version=booking.version if version is None else version,
        defaults=_to_be_sent(now),
    )


def write_to_group(quote: GroupQuote, *, now: datetime) -> None:
    """The step that intends the letter with the quote's link, or one more of it. The quote is locked, or new."""
    require_act()
    OutboxMessage.objects.create(
        quote=quote, kind=OutboxMessage.Kind.QUOTE, version=quote.messages.count() + 1, **_to_be_sent(now)
    )


def write_to_former(about: Booking | GroupQuote, address: str, *, now: datetime) -> None:
    """The step that tells a former e-mail address that letters no longer go there. After the version was raised."""
    require_act()
    if isinstance(about, Booking):
        of = {"booking": about, "contact": about.party.contact, "version": about.version}
    else:
        of = {"quote": about, "version": about.messages.count() + 1}
    kind = OutboxMessage.Kind.FORMER_CONTACT
    OutboxMessage.objects.create(kind=kind, former_address=address, **of, **_to_be_sent(now))


def write_that_closed(quote: GroupQuote, *, now: datetime) -> None:
    """The step that intends one letter that the quote can no longer be accepted; whether it is still to be told is
    asked when it is sent."""
    require_act()
    kind = OutboxMessage.Kind.QUOTE_CLOSED
    OutboxMessage.objects.get_or_create(quote=quote, kind=kind, version=1, defaults=_to_be_sent(now))


def _to_be_sent(now: datetime) -> dict[str, Any]:
    domain = Business.objects.values_list("calendar_domain", flat=True).get()
    return {"message_id": f"<{new_public_id()}@{domain}>", "written_at": now, "due_at": now}
