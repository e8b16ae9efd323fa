"""Who shares a lift with whom: read for the party's own page and by the acts that change it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Max, Q, QuerySet

from bookings.models import Booking, LiftAsk, LiftShare, Person
from bookings.queries import ADULT

KEPT_AFTER_THE_WALK = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Agreed:
    """The other party of an agreed lift, with what it chose to show."""

    public_id: str
    kind: str
    first_name: str
    reached: str
    area: str
    seats: int


@dataclass(frozen=True, slots=True)
class LiftBoard:
    """What one party sees: others by rough area only; the details of those alone with whom it agreed."""

    agreed: tuple[Agreed, ...]
    to_answer: tuple[LiftShare, ...]
    waiting: tuple[LiftShare, ...]
    others: tuple[LiftShare, ...]


def may_share(booking: Booking, *, now: datetime) -> bool:
    """Whether the booking is sold and a walk of it that wants lifts shared has yet to end. One query."""
    sold = booking.state == Booking.State.CONFIRMED
    wanted = Q(own_shares_lifts=True) | Q(own_shares_lifts=None, site__shares_lifts=True)
    return sold and booking.offering.walks.filter(wanted, ends_at__gt=now).exists()


def adults_of(booking: Booking) -> int:
    """How many adults come with the booking. One query."""
    return Person.objects.filter(party_id=booking.party_id, band=ADULT).count()


def others_of(mine: LiftShare) -> QuerySet[LiftShare]:
    """Shares of the same offering that fit by their kind, of bookings that are still sold."""
    fits = LiftShare.objects.exclude(kind=mine.kind).filter(booking__state=Booking.State.CONFIRMED)
    return fits.filter(booking__offering_id=mine.booking.offering_id).order_by("area", "pk")


def agreed_on(offering_id: int) -> list[LiftAsk]:
    """What was agreed among the parties of the offering. One query."""
    agreed = LiftAsk.objects.filter(state=LiftAsk.State.AGREED, asker__booking__offering=offering_id)
    return list(agreed.select_related("asker", "asked"))


def fit(one: LiftShare, other: LiftShare, agreed: Iterable[LiftAsk]) -> bool:
    """Whether those who want the lift, all together, still have seats in the car. No query."""
    car, riders = (one, other) if one.kind == LiftShare.Kind.OFFERS else (other, one)
    taken = 0
    for ask in agreed:
        driver, rider = (ask.asker, ask.asked) if ask.asker.kind == LiftShare.Kind.OFFERS else (ask.asked, ask.asker)
        if rider.pk == riders.pk:
            return False
        taken += rider.seats if driver.pk == car.pk else 0
    return riders.seats <= car.seats - taken


def board_of(mine: LiftShare) -> LiftBoard:
    """The board as `mine` sees it. Who was declined is not shown again to either of the two. Three queries."""
    asks = LiftAsk.objects.filter(Q(asker=mine) | Q(asked=mine)).order_by("pk")
    asks = asks.select_related("asker__booking__party__contact", "asked__booking__party__contact")
    partners = [(ask.state, ask.asked if ask.asker_id == mine.pk else ask.asker) for ask in asks]
    agreed = agreed_on(mine.booking.offering_id)
    others = others_of(mine).exclude(pk__in=[one.pk for _, one in partners])
    return LiftBoard(
        agreed=tuple(_shown(one) for state, one in partners if state == LiftAsk.State.AGREED),
        to_answer=tuple(ask.asker for ask in asks if ask.state == LiftAsk.State.OPEN and ask.asked_id == mine.pk),
        waiting=tuple(ask.asked for ask in asks if ask.state == LiftAsk.State.OPEN and ask.asker_id == mine.pk),
        others=tuple(one for one in others if fit(mine, one, agreed)),
    )


def _shown(share: LiftShare) -> Agreed:
    reached = getattr(share.booking.party.contact, share.shows)
    return Agreed(share.public_id, share.kind, share.first_name, reached, share.area, share.seats)


def overdue_lifts(*, now: datetime) -> QuerySet[LiftShare]:
    """Shares whose last walk ended a day ago or more, or whose booking is not sold any more."""
    shares = LiftShare.objects.annotate(last=Max("booking__offering__walks__ends_at"))
    over = Q(last__lte=now - KEPT_AFTER_THE_WALK) | ~Q(booking__state=Booking.State.CONFIRMED)
    return shares.filter(over).order_by("pk")
