"""Remind those who booked of a payment shortly before it is due."""

from __future__ import annotations

from datetime import datetime

from bookings.dues import Unpaid, unpaid
from bookings.models import Booking, OutboxMessage
from bookings.services.outbox import write_to
from bookings.services.write_ahead import letters_policy
from foraywright.floor.acts import act

Kind = OutboxMessage.Kind


def remind_of_payments(*, now: datetime) -> int:
    """Intend a letter for each payment that is soon due and was not reminded of; say how many. Few queries beside."""
    to_come = Booking.objects.filter(offering__walks__starts_at__gt=now, party__contact__erased_at=None).distinct()
    due = [one for one in unpaid(to_come, now=now) if _is_time(one, now=now)]
    known = set(OutboxMessage.objects.filter(kind=Kind.PAYMENT_DUE).values_list("booking", "version"))
    new = [one for one in due if (one.booking.pk, version_of(one)) not in known]
    for one in new:
        _intend(one, now=now)
    return len(new)


@act
def _intend(one: Unpaid, *, now: datetime) -> None:
    """Whether it is still true is asked when it is sent."""
    write_to(one.booking, Kind.PAYMENT_DUE, version=version_of(one), now=now)


def version_of(one: Unpaid) -> int:
    """The day by which it is due, as a number: each due day is reminded of once."""
    return one.by.toordinal()


def _is_time(one: Unpaid, *, now: datetime) -> bool:
    """From some days before it is due until then; not right after the booking, nor of what is paid where we meet."""
    policy, agreed = letters_policy(), one.booking.agreed_at or one.booking.booked_at
    soon = one.dues.by is not None and one.today <= one.by <= one.today + policy["payment_days"]
    return soon and agreed <= now - policy["payment_after"]
