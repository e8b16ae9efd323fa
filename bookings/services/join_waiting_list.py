"""Put a party on the waiting list."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime

from bookings.compute.hold_times import is_too_late_for_offers
from bookings.compute.rooms import could_ever_take
from bookings.errors import NotJoined
from bookings.models import Booking, OutboxMessage, WaitingEntry, WaitingList
from bookings.queries import rooms_of
from bookings.services.locks import lock_offerings
from bookings.services.orders import (
    NOTHING_TAKEN,
    Order,
    accept_rules,
    ages_before_saving,
    enter,
    has_guardian,
    new_people,
    note_consent,
    refuse_at_the_door,
)
from bookings.services.outbox import write_to
from bookings.services.selling import obstacle, walks_to_come
from foraywright.floor.acts import By, act, record, require_act
from walks.compute.head_count import PartyAges
from walks.models import Walk
from walks.queries import ratio_policy


@act
def join_waiting_list(order: Order, *, by: By, now: datetime) -> Booking:
    """Let the party wait, in the order of joining; the same key again returns the booking it made.

    Raises NotBooked at a closed door and NotJoined where there is nothing to wait for. The offering is locked: a place
    that comes free in the same moment is offered to this party or seen by it.
    """
    order = replace(order, offering=lock_offerings(order.offering.pk)[order.offering.pk])
    before = Booking.objects.filter(idempotency_key=order.key).first()
    if before is not None:
        return before
    walks = walks_to_come(order.offering, now=now)
    refuse_at_the_door(order.bands, order.offering, walks, now=now)
    people = new_people(order.bands, order.names, ratio_policy(order.offering.ratios), order.concessions)
    party = ages_before_saving(people, guardian=has_guardian(people, order))
    reasons = list(_reasons_against(party, order, walks, now=now))
    if reasons:
        raise NotJoined("You are not on the waiting list.", why=reasons, became=NOTHING_TAKEN)
    booking = enter(order, people, Booking.State.WAITING, now=now)
    booking.save()
    accept_rules(booking, by=by, now=now)
    note_consent(booking, order, by=by, now=now)
    wait(booking, since=now, now=now)
    write_to(booking, OutboxMessage.Kind.WAITING, now=now)
    record("join waiting list", booking, by=by, now=now, fields=("party",))
    return booking


def _reasons_against(party: PartyAges, order: Order, walks: Sequence[Walk], *, now: datetime) -> Iterator[str]:
    first = walks[0]
    if obstacle(party, order.offering, walks, now=now) is None:
        yield "There is room for your party: book it now."
    elif not could_ever_take(rooms_of(walks, now=now), party):
        yield "Your party would not fit even if nobody else came. A smaller one might, or another walk."
    elif is_too_late_for_offers(now, first.starts_at, first.clock):
        yield "The walk is so near that nobody could be offered a place in time. Free places are on open sale."


def wait(booking: Booking, *, since: datetime, now: datetime) -> None:
    """The step that puts a booking in the list at the place of `since`, or back at the place that it had."""
    require_act()
    WaitingEntry.objects.get_or_create(booking=booking, defaults={"joined_at": since})
    WaitingList.objects.get_or_create(offering=booking.offering, defaults={"due_at": now})
    WaitingList.objects.filter(offering=booking.offering, done_at__isnull=False).update(due_at=now, done_at=None)
