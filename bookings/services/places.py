"""The steps that take places and give them back."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime

from bookings.models import Booking, Person, Place, WaitingList
from bookings.queries import live_places
from bookings.services.tell_who_is_left import tell_who_is_left
from foraywright.floor.acts import require_act
from walks.models import Offering, Walk
from walks.services.show_places_taken import show_places_taken


def seat(booking: Booking, people: Sequence[Person], walks: Sequence[Walk], *, now: datetime) -> None:
    """The step that gives each of `people` a place on each of `walks`; who gave one back before has it again."""
    require_act()
    before = Place.objects.filter(walk__in=walks, person__in=people)
    before.update(given_back_at=None)
    there = set(before.values_list("walk", "person"))
    wanted = [(walk, one) for walk in walks for one in people if (walk.pk, one.pk) not in there]
    Place.objects.bulk_create(Place(booking=booking, walk=walk, person=one) for walk, one in wanted)
    show_taken(walks, now=now)


def give_back(booking: Booking, *, now: datetime) -> None:
    """The step that gives back the places of walks to come; the waiting list is looked at anew.

    Parties whose children it leaves with too few adults are told.
    """
    require_act()
    Place.objects.filter(booking=booking, walk__starts_at__gt=now, given_back_at=None).update(given_back_at=now)
    show_taken(booking.offering.walks.filter(starts_at__gt=now), now=now)
    look_at_list(booking.offering, now=now)
    tell_who_is_left(booking.offering, now=now)


def show_taken(walks: Iterable[Walk], *, now: datetime) -> None:
    """The step that writes how many places are taken, for display only."""
    for walk in walks:
        show_places_taken(walk, live_places(walk, now=now).count(), now=now)


def look_at_list(offering: Offering, *, now: datetime) -> None:
    """The step by which the worker looks at the offering's waiting list next; nothing where it never had one."""
    require_act()
    WaitingList.objects.filter(offering=offering).update(due_at=now, done_at=None, lease_until=None)
