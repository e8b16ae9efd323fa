"""Move a booking to another walk or course. The booking, its code, its link and what was paid stay."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime
from fractions import Fraction

from bookings.arrivals import against_bringing
from bookings.compute.refunds import ChangeTerms
from bookings.discounts import discount_of
from bookings.errors import NotMoved
from bookings.models import Booking, CallOffChoice, FormSent, OutboxMessage, Transfer
from bookings.queries import (
    ages_of,
    awaiting_choice,
    balance,
    currency_of,
    due,
    may_leave_free,
    people_of,
    price_of,
    prices_of,
    refund_due,
    written_off,
)
from bookings.services.cancel_booking import refund_percent
from bookings.services.change_party import settle_change
from bookings.services.charging import end_lines, forget_unsold, full_prices, write_lines
from bookings.services.choose_after_call_off import settle_choice
from bookings.services.ledger import move
from bookings.services.locks import lock_booking, was_sent_before
from bookings.services.outbox import write_to
from bookings.services.places import give_back, seat
from bookings.services.selling import obstacle, pay_by, walks_to_come
from bookings.services.share_lifts import end_lift
from foraywright.floor.acts import By, act, record
from foraywright.floor.compute.money import half_up
from walks.compute.arrivals import Brought
from walks.models import Offering, Walk

SAY_FEWER = "Say on your booking’s page that you come without, then move."
STAYS = "Your booking stays as it was."


def move_terms(booking: Booking, to: Offering, *, now: datetime) -> ChangeTerms:
    """What moving to `to` would mean for the money now.

    A dearer walk costs the difference. Of a cheaper one the difference comes back by the refund policy of the sale;
    where we called the walk off, everything that was paid counts towards the new one and the rest comes back.
    """
    before, gone = due(booking), written_off(booking)
    paid = before - balance(booking) - gone + awaiting_choice(booking)
    after = before + _new_price(booking, to) - _fall(booking, to, now=now)
    return ChangeTerms(before, after, paid, gone, refund_due(booking))


def _new_price(booking: Booking, to: Offering) -> int:
    """What the party pays there: concessions and discount go along where they hold there too."""
    price = sum(full_prices(people_of(booking), prices_of(to)))
    return price - discount_of(booking, to).off(price)


def _fall(booking: Booking, to: Offering, *, now: datetime) -> int:
    """By how much less is due of the walk that is left: all that the new one costs, and the part of the rest that comes
    back."""
    if booking.state != Booking.State.CONFIRMED:
        return 0
    old, new = price_of(booking), _new_price(booking, to)
    cheaper = max(0, old - new)
    return old - cheaper + half_up(Fraction(cheaper * refund_percent(booking, now=now), 100))


def possible_move(booking: Booking, to: Offering, *, now: datetime) -> ChangeTerms:
    """The same of a move that could be made as things stand. Raises NotMoved where it could not."""
    _refuse(booking, to, walks_to_come(to, now=now), now=now)
    return move_terms(booking, to, now=now)


@act
def move_booking(booking: Booking, to: Offering, *, terms: str, key: str, by: By, now: datetime) -> Booking:
    """Move the booking under the `terms` (the mark of ChangeTerms) that were shown; the same key does it once.

    The earlier day goes on deciding refunds, unless we called the walk off or changed it. Raises NotMoved. Both
    offerings are locked, the lower key first: two parties that change places would otherwise wait for each other.
    """
    booking, offerings = lock_booking(booking, to.pk)
    if was_sent_before(key):
        return booking
    to = offerings[to.pk]
    walks = walks_to_come(to, now=now)
    _refuse(booking, to, walks, now=now)
    agreed = move_terms(booking, to, now=now)
    if agreed.mark != terms:
        raise NotMoved(
            "The amount has changed since it was shown.", became=STAYS, now="Look at it again, and send it again."
        )
    _carry_out(booking, to, walks, agreed, now=now)
    FormSent.objects.create(key=key, booking=booking, act="move booking", at=now)
    write_to(booking, OutboxMessage.Kind.MOVED, now=now)
    record("move booking", booking, by=by, now=now, fields=("offering", "places"))
    return booking


def may_move(booking: Booking, *, now: datetime) -> bool:
    """Whether the booking may be moved at all: sold and not begun, or called off by us and not yet chosen."""
    return not list(_reasons_against(booking, now=now))


def _reasons_against(booking: Booking, *, now: datetime) -> Iterator[str]:
    if booking.state == Booking.State.CALLED_OFF:
        if not CallOffChoice.objects.filter(booking=booking, choice="").exists():
            yield "The money for this walk is on its way back. Book the other walk anew."
    elif booking.state != Booking.State.CONFIRMED:
        yield f"A booking that is {booking.get_state_display().lower()} cannot be moved."
    elif booking.offering.private:
        yield "A group’s walk was quoted for it alone. Write to us, and we quote another date."
    elif booking.offering.walks.earliest("starts_at").starts_at <= now:
        yield "The walk has begun or is over."


def _refuse(booking: Booking, to: Offering, walks: list[Walk], *, now: datetime) -> None:
    reasons = list(_reasons_against(booking, now=now)) or list(_closed(booking, to, walks, now=now))
    if reasons:
        raise NotMoved("Your booking was not moved.", why=reasons, became=STAYS)
    found = obstacle(ages_of(people_of(booking)), to, walks, now=now)
    if found is not None:
        raise NotMoved(f"Not moved: {found.what}.", why=found.why, became=STAYS, now="Choose another walk.")
    brings = against_bringing(Brought(booking.cars, booking.dogs), walks, now=now)
    if brings:
        raise NotMoved("Not moved: not everything that you bring has room.", why=brings, became=STAYS, now=SAY_FEWER)


def _closed(booking: Booking, to: Offering, walks: list[Walk], *, now: datetime) -> Iterator[str]:
    if to.pk == booking.offering_id:
        yield "That is the walk that you have booked."
    elif (
        to.private
        or to.state != Offering.State.PUBLISHED
        or not walks
        or to.walks.earliest("starts_at").starts_at <= now
    ):
        yield "That walk is not open for booking."
    elif prices_of(to).currency != currency_of(booking):
        yield "That walk is sold in another currency."
    elif {one.band for one in people_of(booking)} - set(prices_of(to).by_band):
        yield "That walk has no price for everybody of your party."


def _carry_out(booking: Booking, to: Offering, walks: list[Walk], terms: ChangeTerms, *, now: datetime) -> None:
    ours = booking.state == Booking.State.CALLED_OFF
    refund_day = None if ours or may_leave_free(booking) else _earlier(booking, walks[0])
    refunds = None if ours else booking.lines.filter(ended_at=None).select_related("refunds")[0].refunds
    if ours:
        forget_unsold(booking)
    else:
        lines = list(booking.lines.filter(ended_at=None).order_by("pk"))
        fall = _fall(booking, to, now=now)
        end_lines(lines, percent=100, earned=sum(one.net_minor for one in lines) - fall, now=now)
        give_back(booking, now=now)
    end_lift(booking, now=now)
    people = people_of(booking)
    booking.offering, booking.state, booking.cancelled_at, booking.agreed_at = to, Booking.State.CONFIRMED, None, now
    booking.refund_day, booking.pay_by, booking.version = refund_day, pay_by(walks[0], now=now), booking.version + 1
    booking.save()
    write_lines(booking, people, now=now, discount=discount_of(booking, to), refunds=refunds)
    seat(booking, people, walks, now=now)
    settle_change(booking, terms, now=now)
    if ours:
        _use_credit(booking, now=now)


def _earlier(booking: Booking, first: Walk) -> date:
    """The day that refunds are counted to after the move: the earlier of the two."""
    before = booking.refund_day or booking.offering.walks.earliest("starts_at").local_date
    return min(before, first.local_date)


def _use_credit(booking: Booking, *, now: datetime) -> None:
    """What waits since we called the walk off pays for the new one; the rest is promised back."""
    counted = min(awaiting_choice(booking), max(0, balance(booking)))
    move(Transfer.Kind.CREDIT, "awaiting_choice", "receivable", counted, booking, now=now)
    settle_choice(booking.call_off_choice, booking, CallOffChoice.Choice.MOVE, now=now)
