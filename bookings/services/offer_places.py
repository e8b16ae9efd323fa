"""Offer places that came free to those who wait, in their order. An offer is a hold."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from bookings.compute.hold_times import offer_end
from bookings.compute.waiting_list import look_at_the_list
from bookings.discounts import discount_of
from bookings.models import Booking, OutboxMessage, WaitingEntry, WaitingList
from bookings.queries import days_before, people_of, rooms_of, waiting_entries, waiting_of
from bookings.services.charging import forget_unsold, write_lines
from bookings.services.leave_behind import leave_behind
from bookings.services.locks import lock_offerings
from bookings.services.outbox import write_to
from bookings.services.places import seat
from bookings.services.selling import walks_to_come
from foraywright.floor.acts import act, record
from foraywright.floor.leases import claim, finish
from walks.models import Offering, Walk

LOOK_AGAIN = timedelta(minutes=5)
"""A guide more, or a wider permission, makes room without any act of this room: so the list is looked at this often."""


def offer_next_places(*, now: datetime) -> WaitingList | None:
    """Claim the next waiting list and make the offers that are due; None where no list is."""
    waiting_list = claim(WaitingList, now=now)
    if waiting_list is not None:
        _look(waiting_list, now=now)
    return waiting_list


@act
def _look(waiting_list: WaitingList, *, now: datetime) -> None:
    """The offering is locked: a sale, a cancellation and these offers must not cross."""
    offering = lock_offerings(waiting_list.offering_id)[waiting_list.offering_id]
    entries, walks = waiting_entries(offering), walks_to_come(offering, now=now)
    begun = not walks or offering.walks.earliest("starts_at").starts_at <= now
    if begun or offering.state != Offering.State.PUBLISHED:
        _close(entries, now=now)
        finish(waiting_list, now=now)
        return
    _offer_in_order(entries, walks, now=now)
    open_rows = WaitingList.objects.filter(pk=waiting_list.pk)
    open_rows.update(due_at=now + LOOK_AGAIN, lease_until=None, attempts=0, done_at=None if entries else now)


def _offer_in_order(entries: Sequence[WaitingEntry], walks: Sequence[Walk], *, now: datetime) -> None:
    end = offer_end(now, walks[0].starts_at, walks[0].clock)
    if end is None or not entries:
        return
    by_key = {one.pk: one for one in entries}
    rooms = rooms_of(walks, now=now)
    found = look_at_the_list(rooms, waiting_of(entries), days_before=days_before(walks[0], now=now))
    for key in found.offer:
        _offer(by_key[key].booking, walks, until=end, now=now)
    for key in found.passed_over:
        _pass_over(by_key[key], now=now)


def _offer(booking: Booking, walks: Sequence[Walk], *, until: datetime, now: datetime) -> None:
    booking = Booking.objects.select_for_update().get(pk=booking.pk)
    booking.offering = walks[0].offering
    booking.state, booking.hold_kind = Booking.State.HELD, Booking.HoldKind.OFFER
    booking.session_ends_at = None  # that of an earlier payment does not bound the offer
    booking.held_until, booking.extensions, booking.version = until, 0, booking.version + 1
    leave_behind(booking, walks, now=now)
    booking.save()
    people = people_of(booking)
    forget_unsold(booking)
    write_lines(booking, people, now=now, discount=discount_of(booking, booking.offering))
    seat(booking, people, walks, now=now)
    write_to(booking, OutboxMessage.Kind.OFFER, now=now)
    record("offer places", booking, by="worker", now=now, fields=("state", "places"))


def _pass_over(entry: WaitingEntry, *, now: datetime) -> None:
    entry.passed_over += 1
    entry.save(update_fields=["passed_over"])
    write_to(entry.booking, OutboxMessage.Kind.PASSED_OVER, version=entry.passed_over, now=now)


def _close(entries: Sequence[WaitingEntry], *, now: datetime) -> None:
    """Nobody waits for a walk that has begun. They were told when they joined, and no letter follows."""
    for entry in entries:
        entry.booking.state = Booking.State.LAPSED
        entry.booking.save(update_fields=["state"])
        record("close waiting list", entry.booking, by="worker", now=now, fields=("state",))
