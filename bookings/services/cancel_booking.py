"""Cancel a booking: places come back, money follows the policy it was sold under."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

from bookings.compute.refunds import Settlement, percent_back, tiers_from
from bookings.errors import NotCancelled
from bookings.models import Booking, OutboxMessage, Place, Transfer
from bookings.queries import may_leave_free, paid
from bookings.services.ledger import transfer
from bookings.services.outbox import write_to
from foraywright.floor.acts import By, act, record, require_act
from walks.models import Offering, Walk
from walks.services.show_places_taken import show_places_taken


def settlement(booking: Booking, *, ours: bool, now: datetime) -> Settlement:
    """What cancelling now would mean; `ours`: we call it off, so everything goes back, as it does after a
    material change by us. Five queries."""
    lines = list(booking.lines.select_related("refunds"))
    price = sum(line.price_minor - line.discount_minor for line in lines)
    first = booking.offering.walks.earliest("starts_at")
    free = ours or may_leave_free(booking)
    percent = 100 if free else _percent(lines[0].refunds.body, first, now)
    return Settlement(price, paid(booking), percent)


def _percent(body: dict[str, object], walk: Walk, now: datetime) -> int:
    return percent_back(tiers_from(body), walk.local_date, now.astimezone(ZoneInfo(walk.zone)).date())


@act
def cancel_booking(booking: Booking, *, by: By, now: datetime) -> Booking:
    """Give the places back and settle by the policy frozen at the sale. Raises NotCancelled.

    The offering is locked: an offer of the freed places and this cancellation must not cross.
    """
    Offering.objects.select_for_update().get(pk=booking.offering_id)
    booking = Booking.objects.select_for_update().get(pk=booking.pk)
    if booking.state not in (Booking.State.CONFIRMED, Booking.State.HELD):
        raise NotCancelled(f"This booking is {booking.get_state_display().lower()} already.", became="Nothing changed.")
    if not booking.offering.walks.filter(starts_at__gt=now).exists():
        raise NotCancelled("The walk has begun or is over, so it cannot be cancelled.", became="Nothing changed.")
    end_booking(booking, Booking.State.CANCELLED, ours=False, now=now)
    write_to(booking, OutboxMessage.Kind.CANCELLED, now=now)
    record("cancel booking", booking, by=by, now=now, fields=("state", "places"))
    return booking


def end_booking(booking: Booking, state: str, *, ours: bool, now: datetime) -> None:
    """The step that gives back the places of walks to come and settles the money of a locked booking."""
    require_act()
    terms = settlement(booking, ours=ours, now=now)
    booking.state, booking.cancelled_at, booking.version = state, now, booking.version + 1
    booking.save(update_fields=["state", "cancelled_at", "version"])
    Place.objects.filter(booking=booking, walk__starts_at__gt=now, given_back_at=None).update(given_back_at=now)
    for debit, credit, amount in (
        ("deferred_income", "receivable", terms.forgiven),
        ("deferred_income", "refunds_due", terms.back - terms.overpaid),
        ("receivable", "refunds_due", terms.overpaid),
    ):
        _take_back(booking, debit, credit, amount, now=now)
    for walk in booking.offering.walks.filter(starts_at__gt=now):
        show_places_taken(walk, Place.objects.filter(walk=walk, given_back_at=None).count(), now=now)


def _take_back(booking: Booking, debit: str, credit: str, amount_minor: int, *, now: datetime) -> None:
    transfer(
        Transfer.Kind.CANCELLATION,
        debit=debit,
        credit=credit,
        amount_minor=amount_minor,
        currency=booking.lines.values_list("currency", flat=True)[0],
        booking=booking,
        now=now,
    )
