"""Cancel a booking: places come back, money follows the policy it was sold under."""

from __future__ import annotations

from datetime import datetime

from django.db.models import Sum

from bookings.adults import asked_for_an_adult
from bookings.compute.refunds import Settlement, held_share, percent_back, tiers_from
from bookings.errors import NotCancelled
from bookings.models import Booking, OutboxMessage
from bookings.queries import balance, due, may_leave_free, written_off
from bookings.services.charging import end_lines, take_back
from bookings.services.locks import lock_booking
from bookings.services.outbox import write_to
from bookings.services.places import give_back
from bookings.services.share_lifts import end_lift
from foraywright.floor.acts import By, act, record, require_act
from foraywright.floor.refusals import SeenOtherwise, as_seen

OPEN = (Booking.State.CONFIRMED, Booking.State.HELD, Booking.State.WAITING)
"""States that somebody may end: sold, held (giving it back, declining an offer), waiting (leaving the list)."""

CHANGED = "What comes back has changed since the page was made, because a day has begun or money has come in."
STAYS = "Nothing was cancelled."
NOTHING = "Nothing changed."
LOOK_AGAIN = "Look at the amount again."


def settlement(booking: Booking, *, ours: bool, now: datetime) -> Settlement:
    """What cancelling now would mean; `ours`: we call it off. What was held of a course never comes back, whatever the
    reason: it was earned. Nine queries.
    """
    price = due(booking)
    kept = booking.lines.aggregate(kept=Sum("kept_minor"))["kept"] or 0
    earned = kept + _held(booking, price - kept, now=now)
    percent = 100 if ours else refund_percent(booking, now=now)
    gone = written_off(booking)
    return Settlement(price, price - balance(booking) - gone, percent, earned, gone)


def _held(booking: Booking, price: int, *, now: datetime) -> int:
    """What the sessions that have begun are worth of `price`, by their minutes."""
    walks = list(booking.offering.walks.order_by("starts_at", "pk"))
    return held_share(price, [one.minutes for one in walks], sum(one.starts_at <= now for one in walks))


def refund_percent(booking: Booking, *, now: datetime) -> int:
    """The percentage that comes back now by the policy of the sale. Four queries.

    100 of what was never sold, after a material change by us, and where we asked for an adult whom nobody has found.
    """
    line = booking.lines.filter(ended_at=None).select_related("refunds").first()
    if line is None or booking.state != Booking.State.CONFIRMED or may_leave_free(booking):
        return 100
    if asked_for_an_adult(booking, now=now):
        return 100
    first = booking.offering.walks.earliest("starts_at")
    today = now.astimezone(first.clock).date()
    return percent_back(tiers_from(line.refunds.body), booking.refund_day or first.local_date, today)


def against_cancelling(booking: Booking, *, now: datetime) -> NotCancelled | None:
    """Why the booking cannot be cancelled; None where it can. At most one query."""
    if booking.state not in OPEN:
        return NotCancelled(f"This booking is {booking.get_state_display().lower()} already.", became=NOTHING)
    if not booking.offering.walks.filter(starts_at__gt=now).exists():
        return NotCancelled("The walk has begun or is over, so it cannot be cancelled.", became=NOTHING)
    return None


@act
def cancel_booking(booking: Booking, *, seen: str | None = None, by: By, now: datetime) -> Booking:
    """Give the places back, or leave the waiting list, and settle by the policy frozen at the sale.

    `seen`: the mark of the settlement that was shown. Raises NotCancelled, and SeenOtherwise where it is another now.
    The offering is locked: an offer of the freed places and this cancellation must not cross.
    """
    booking, _ = lock_booking(booking)
    if (refusal := against_cancelling(booking, now=now)) is not None:
        raise refusal
    as_seen(seen, settlement(booking, ours=False, now=now).mark, SeenOtherwise(CHANGED, became=STAYS, now=LOOK_AGAIN))
    end_booking(booking, Booking.State.CANCELLED, ours=False, now=now)
    write_to(booking, OutboxMessage.Kind.CANCELLED, now=now)
    record("cancel booking", booking, by=by, now=now, fields=("state", "places"))
    return booking


def end_booking(booking: Booking, state: str, *, ours: bool, into: str = "refunds_due", now: datetime) -> None:
    """The step that gives back the places of walks to come and settles the money of a locked booking.

    `into`: the account where what comes back waits.
    """
    require_act()
    terms = settlement(booking, ours=ours, now=now)
    if booking.state == Booking.State.CONFIRMED:
        lines = list(booking.lines.filter(ended_at=None).order_by("pk"))
        kept_before = terms.price - sum(one.net_minor for one in lines)
        end_lines(lines, percent=terms.percent, earned=terms.earned - kept_before, now=now)
    booking.state, booking.cancelled_at, booking.version = state, now, booking.version + 1
    booking.save(update_fields=["state", "cancelled_at", "version"])
    give_back(booking, now=now)
    end_lift(booking, now=now)
    take_back(booking, terms.price - terms.kept, into=into, now=now)
