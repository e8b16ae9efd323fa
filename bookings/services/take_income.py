"""Take the income of a walk that was held into the books, and the value added tax that is owed from then on."""

from __future__ import annotations

from datetime import datetime

from bookings.models import Booking, IncomeTaken, Transfer
from bookings.queries import credited
from bookings.services.book_tax import book_tax, to_account
from bookings.services.locks import lock_offerings
from foraywright.floor.acts import act, record, require_act
from walks.models import Offering, Walk

SOLD = (Offering.State.PUBLISHED, Offering.State.CALLED_OFF)


def take_next_income(*, now: datetime) -> Walk | None:
    """Take the income of the next walk that is over; None where there is none. Two workers at once do it once."""
    over = Walk.objects.filter(ends_at__lte=now, income_taken=None, offering__state__in=SOLD)
    walk = over.select_related("offering").order_by("ends_at", "pk").first()
    if walk is not None:
        _take_income(walk, now=now)
    return walk


@act
def _take_income(walk: Walk, *, now: datetime) -> None:
    """Offering and bookings are locked: a cancellation of the rest of a course counts what is earned.

    Of a walk that was called off only what was kept of earlier cancellations is earned.
    """
    offering = lock_offerings(walk.offering_id)[walk.offering_id]
    if IncomeTaken.objects.filter(walk=walk).exists():
        return
    IncomeTaken.objects.create(walk=walk, at=now)
    bookings = Booking.objects.select_for_update(of=("self",)).filter(offering=offering)
    for booking in bookings.order_by("pk"):
        booking.offering = offering
        _earn(booking, now=now)
    record("take income", offering, by="worker", now=now, fields=("income",), reason=f"session {walk.number}")


def earn_late(booking: Booking, *, now: datetime) -> None:
    """The step for a booking written down after the income of its walk was taken: what it earned is taken now."""
    require_act()
    if IncomeTaken.objects.filter(walk__offering=booking.offering_id).exists():
        _earn(booking, now=now)


def _earn(booking: Booking, *, now: datetime) -> None:
    """Take what is earned and not in the books yet, and book the tax that was not owed before."""
    earned = book_tax(booking, now=now, kind=Transfer.Kind.EARNED).earned
    to_account(booking, "income", earned.income_minor - credited(booking, "income"), Transfer.Kind.EARNED, now=now)
