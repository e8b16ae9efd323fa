"""Send the way to a booking again, to the address that it was made with."""

from __future__ import annotations

from datetime import datetime, timedelta

from bookings.models import Booking, OutboxMessage
from bookings.services.outbox import write_to
from foraywright.floor.acts import By, act, record

AT_MOST_EVERY = timedelta(minutes=10)


@act
def send_new_link(code: str, email: str, *, by: By, now: datetime) -> bool:
    """Write to the booking with this code and this address; False where there is none, or a letter went out just now.

    The booking is locked: the same form sent twice would otherwise write twice. Only the stored address is written to.
    """
    booking = Booking.objects.select_for_update().filter(code=code, party__contact__email__iexact=email).first()
    if booking is None or _written_just_now(booking, now=now):
        return False
    booking.version += 1
    booking.save(update_fields=["version"])
    write_to(booking, OutboxMessage.Kind.NEW_LINK, now=now)
    record("send new link", booking, by=by, now=now)
    return True


def _written_just_now(booking: Booking, *, now: datetime) -> bool:
    recent = OutboxMessage.objects.filter(booking=booking, kind=OutboxMessage.Kind.NEW_LINK)
    return recent.filter(written_at__gt=now - AT_MOST_EVERY).exists()
