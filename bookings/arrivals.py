"""Cars and dogs that parties bring to a walk, counted over live bookings."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from django.db.models import Sum

from bookings.models import Booking
from bookings.queries import live
from walks.compute.arrivals import NOTHING, ArrivalLine, Brought, against_arrival, arrival_lines
from walks.models import Walk

COME_WITHOUT = "Your places do not depend on it: book with fewer, and share a car with others whom you know."
ASSISTANCE_DOGS = "Assistance dogs come with their person on every walk and are not counted"
ACTS = {"GB-NIR": "Disability Discrimination Act 1995", "GB": "Equality Act 2010, sections 20 and 29"}


def assistance_dogs(jurisdiction: str) -> str:
    """The sentence on assistance dogs with the Act that it rests on, where we know it."""
    source = ACTS.get(jurisdiction) or ACTS.get(jurisdiction.partition("-")[0], "")
    return f"{ASSISTANCE_DOGS}{f' ({source})' if source else ''}."


def brought_to(offering_id: int, *, now: datetime, without: Booking | None = None) -> Brought:
    """Cars and dogs of the live bookings of an offering, leaving out one. One query."""
    bookings = Booking.objects.filter(live(now), offering=offering_id)
    if without is not None:
        bookings = bookings.exclude(pk=without.pk)
    sums = bookings.aggregate(cars=Sum("cars"), dogs=Sum("dogs"))
    return Brought(sums["cars"] or 0, sums["dogs"] or 0)


def against_bringing(
    brings: Brought, walks: Sequence[Walk], *, now: datetime, but: Booking | None = None
) -> tuple[str, ...]:
    """Why a party cannot bring this to the walks of one offering. Ask under the lock. At most one query."""
    if brings == NOTHING or not walks:
        return ()
    coming = brought_to(walks[0].offering_id, now=now, without=but)
    reasons = (reason for walk in walks for reason in against_arrival(walk.arrivals, coming, brings))
    return tuple(dict.fromkeys(reasons))


def arrivals_of(walk: Walk, *, now: datetime) -> tuple[ArrivalLine, ...]:
    """The limits in cars and dogs of one walk with what is announced. One query."""
    return arrival_lines(walk.arrivals, brought_to(walk.offering_id, now=now))
