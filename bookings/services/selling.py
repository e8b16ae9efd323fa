"""What every sale asks under the lock: who comes, on which walks, and what stands in the way."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from bookings.arrivals import COME_WITHOUT, against_bringing
from bookings.compute.rooms import Room
from bookings.errors import NotBooked
from bookings.models import Booking, Person
from bookings.queries import is_open_to_all, rooms_of
from bookings.services.orders import (
    NOTHING_TAKEN,
    Order,
    ages_before_saving,
    has_guardian,
    new_people,
    refuse_at_the_door,
)
from walks.compute.head_count import PartyAges
from walks.models import Offering, Walk
from walks.queries import ratio_policy, with_everything

DAYS_TO_PAY = 7
DAYS_BEFORE_THE_WALK = 3


@dataclass(frozen=True, slots=True)
class Obstacle:
    """Why a party cannot have places: `what` in a clause, the reasons, how many of it would fit, what to do."""

    what: str
    why: tuple[str, ...] = ()
    would_fit: int = 0
    advice: str = ""


def who_and_where(order: Order, *, now: datetime) -> tuple[list[Person], list[Walk]]:
    """The people of the order, not yet saved, and the walks that take them. Raises NotBooked where they do not."""
    walks = walks_to_come(order.offering, now=now)
    refuse_at_the_door(order.bands, order.offering, walks, now=now)
    people = new_people(order.bands, order.names, ratio_policy(order.offering.ratios), order.concessions)
    party = ages_before_saving(people, guardian=has_guardian(people, order))
    found = obstacle(party, order.offering, walks, now=now)
    if found is not None:
        raise NotBooked(
            f"Not booked: {found.what}.",
            why=found.why,
            became=NOTHING_TAKEN,
            now=found.advice,
            would_fit=found.would_fit,
        )
    _refuse_what_they_bring(order, walks, now=now)
    return people, walks


def _refuse_what_they_bring(order: Order, walks: Sequence[Walk], *, now: datetime) -> None:
    reasons = against_bringing(order.brings, walks, now=now)
    if reasons:
        raise NotBooked(
            "Not booked: not everything that you bring has room.", why=reasons, became=NOTHING_TAKEN, now=COME_WITHOUT
        )


def walks_to_come(offering: Offering, *, now: datetime) -> list[Walk]:
    """The walks of the offering that are not over, with everything that limits them. Four queries."""
    return list(with_everything(offering.walks.filter(ends_at__gt=now)))


def obstacle(
    party: PartyAges, offering: Offering, walks: Sequence[Walk], *, now: datetime, but: Booking | None = None
) -> Obstacle | None:
    """What keeps the party from the walks: a limit, or others who wait and would fit. Ask under the lock.

    `but`: a booking whose own places and own wait are left out.
    """
    rooms = rooms_of(walks, now=now, without=but)
    for walk, room in zip(walks, rooms, strict=True):
        found = _broken_limit(party, walk, room)
        if found is not None:
            return found
    if is_open_to_all(offering, walks, now=now, rooms=rooms, but=but):
        return None
    return Obstacle(
        "the free places go to those on the waiting list first",
        advice="Join the waiting list, or choose another walk.",
    )


def _broken_limit(party: PartyAges, walk: Walk, room: Room) -> Obstacle | None:
    decision = room.decide(party)
    if decision.allowed:
        return None
    what = f"there is no room for your party of {len(party.people)} on {in_words(walk.local_date)}"
    return Obstacle(what, decision.reasons, decision.would_fit, _advice(decision.would_fit))


def _advice(would_fit: int) -> str:
    if would_fit == 0:
        return "Choose another walk, or ask us."
    return f"{would_fit} of your party would fit: book for {would_fit}, or choose another walk."


def pay_by(walk: Walk, *, now: datetime) -> date | None:
    """Last day for a bank transfer: a week from now, and at least 3 days before the walk; None: pay when we meet."""
    today = now.astimezone(walk.clock).date()
    latest = walk.local_date - timedelta(days=DAYS_BEFORE_THE_WALK)
    return min(today + timedelta(days=DAYS_TO_PAY), latest) if latest > today else None


def in_words(day: date) -> str:
    """The day as people say it: Saturday 3 October."""
    return f"{day:%A} {day.day} {day:%B}"
