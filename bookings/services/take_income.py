"""Take the income of a walk that was held into the books, and the value added tax that is owed of it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from bookings.compute.earned import Earned, Sold, earned_of
from bookings.models import Booking, BookingLine, IncomeTaken, Transfer
from bookings.queries import credited
from bookings.services.charging import currency_of
from bookings.services.ledger import transfer
from bookings.services.locks import lock_offerings
from bookings.vouchers import used_for
from foraywright.floor.acts import act, record, require_act
from foraywright.floor.compute.money import tax_within
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
    weights, held = _weights(offering, now=now)
    bookings = Booking.objects.select_for_update(of=("self",)).filter(offering=offering)
    for booking in bookings.order_by("pk"):
        booking.offering = offering
        _earn(booking, weights, held, now=now)
    IncomeTaken.objects.create(walk=walk, at=now)
    record("take income", offering, by="worker", now=now, fields=("income",), reason=f"session {walk.number}")


def earn_late(booking: Booking, *, now: datetime) -> None:
    """The step for a booking written down after the income of its walk was taken: what it earned is taken now."""
    require_act()
    if IncomeTaken.objects.filter(walk__offering=booking.offering_id).exists():
        _earn(booking, *_weights(booking.offering, now=now), now=now)


def _weights(offering: Offering, *, now: datetime) -> tuple[list[int], int]:
    """The minutes of the offering's walks in their order, and how many of them were held. One query."""
    walks = list(offering.walks.order_by("starts_at", "pk"))
    return [one.minutes for one in walks], sum(one.ends_at <= now and one.called_off_at is None for one in walks)


def _earn(booking: Booking, weights: Sequence[int], held: int, *, now: datetime) -> None:
    """Move what is earned and not in the books yet; back again where a rounding made it less by a penny.

    The tax in what a single-purpose voucher paid is owed since the voucher was sold, and not a second time.
    """
    lines = [sold(one, booking) for one in booking.lines.order_by("pk")]
    earned = earned_of(lines, weights, held) if lines else Earned(0, 0)
    before = min(_taxed_before(booking), earned.vat_minor)
    parts = {"income": earned.income_minor, "voucher_tax": before, "vat": earned.vat_minor - before}
    for account, amount in parts.items():
        missing = amount - credited(booking, account)
        debit, credit = ("deferred_income", account) if missing > 0 else (account, "deferred_income")
        transfer(
            Transfer.Kind.EARNED,
            debit=debit,
            credit=credit,
            amount_minor=abs(missing),
            currency=currency_of(booking),
            booking=booking,
            now=now,
        )


def _taxed_before(booking: Booking) -> int:
    used = ((voucher.vat_basis_points, amount) for voucher, amount in used_for(booking))
    return sum(tax_within(amount, rate) for rate, amount in used if rate is not None)


def sold(line: BookingLine, booking: Booking) -> Sold:
    """What of the line is sold: its price while it runs in a confirmed booking, and what is kept of it. No query."""
    runs = line.ended_at is None and booking.state == Booking.State.CONFIRMED
    return Sold(line.net_minor if runs else 0, line.kept_minor, line.vat_basis_points)
