"""The register of a walk on its day: who is there, and how the limits stand with those who really came."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from bookings.attendance import Attendee, attendees, standing_of
from bookings.compute.attendance import ABSENT, CONFLICT, LEFT_EARLY, PRESENT, UNKNOWN
from bookings.compute.rooms import Room
from bookings.models import Booking, Declaration, Person, Place, WalkUp
from bookings.queries import ADULT, ages_of, live_places
from walks.compute.head_count import PartyAges
from walks.compute.ratios import RatioStatement, ratio_statement
from walks.models import Walk
from walks.queries import WalkLimits, walk_limits

HERE = (PRESENT, CONFLICT)
GONE = (ABSENT, LEFT_EARLY)


@dataclass(frozen=True, slots=True)
class OnTheDay:
    """One person of the register, and the guardian in whose charge a child was booked.

    `heard`: a declaration is there; `asked`: the person came without a booking and was asked at the meeting point.
    """

    attendee: Attendee
    guardian: Attendee | None
    heard: bool
    asked: bool

    @property
    def person(self) -> Person:
        """The person."""
        return self.attendee.place.person

    @property
    def alone(self) -> bool:
        """Whether a guardian was booked and is not here: the child counts with our staff."""
        return self.guardian is not None and self.guardian.standing not in HERE

    @property
    def is_child(self) -> bool:
        """Whether an age band below adult was booked."""
        return self.person.band != ADULT


@dataclass(frozen=True, slots=True)
class DayRegister:
    """The people, and the statements: `here` over those marked present (two answers count as here: the stricter
    reading), `expected` over everybody who has not been marked absent or gone."""

    people: tuple[OnTheDay, ...]
    here: RatioStatement
    expected: RatioStatement
    staff: int

    def count(self, *states: str) -> int:
        """How many stand in one of `states`."""
        return sum(one.attendee.standing in states for one in self.people)

    @property
    def counts(self) -> dict[str, int]:
        """Heads for the page; `heads` are those to count in the wood, staff included."""
        here = self.count(*HERE)
        return {
            "here": here,
            "awaited": self.count(UNKNOWN),
            "gone": self.count(*GONE),
            "doubtful": self.count(CONFLICT),
            "heads": here + self.staff,
        }


def register_of(walk: Walk) -> DayRegister:
    """The register as its marks stand. Four queries, and those of the walk's limits."""
    found, limits = attendees(walk), walk_limits(walk)
    heard = set(Declaration.objects.filter(person__places__walk=walk).values_list("person", flat=True))
    asked = set(WalkUp.objects.filter(walk=walk).values_list("booking", flat=True))
    by_key = {one.place.person_id: one for one in found}

    def statement(people: Iterable[Attendee]) -> RatioStatement:
        return ratio_statement(limits.policy, limits.caps, limits.staff, _parties(one.place for one in people))

    return DayRegister(
        people=tuple(
            OnTheDay(
                attendee=one,
                guardian=by_key.get(one.place.person.guardian_id or 0),
                heard=one.place.person_id in heard,
                asked=one.place.booking_id in asked,
            )
            for one in found
        ),
        here=statement(one for one in found if one.standing in HERE),
        expected=statement(one for one in found if one.standing not in GONE),
        staff=len(limits.staff),
    )


def room_on_the_day(walk: Walk, *, at: datetime, now: datetime, limits: WalkLimits | None = None) -> Room:
    """The walk as a sale at the meeting point and the start see it: whoever was marked absent or gone `at` that instant
    has left their place free. Before anybody is marked it is the walk as any sale sees it.

    Three queries, and those of the walk's limits.
    """
    limits = limits or walk_limits(walk)
    held = live_places(walk, now=now).filter(booking__state=Booking.State.HELD).select_related("person")
    coming = [one.place for one in attendees(walk) if standing_of(one.place, at=at) not in GONE]
    return Room(limits.policy, limits.caps, limits.staff, tuple(_parties([*coming, *held])))


def _parties(places: Iterable[Place]) -> list[PartyAges]:
    parties: dict[int, list[Person]] = {}
    for one in places:
        parties.setdefault(one.person.party_id, []).append(one.person)
    return [ages_of(party) for party in parties.values()]
