"""Tell the parties whose children are left with too few adults."""

from __future__ import annotations

from datetime import datetime

from bookings.adults import short_of_adults
from bookings.models import Booking, OutboxMessage, Place
from bookings.queries import ADULT
from bookings.services.outbox import write_to
from foraywright.floor.acts import require_act
from walks.models import Offering


def tell_who_is_left(offering: Offering, *, now: datetime) -> None:
    """The step that writes, once a walk, to parties with children where a departure left too few adults.

    Parties without children are not asked: their leaving would make it worse. A group comes alone, with leaders of its
    own. The offering is locked by the act.
    """
    require_act()
    if offering.private or not Offering.objects.filter(pk=offering.pk, state=Offering.State.PUBLISHED).exists():
        return
    for walk in offering.walks.filter(starts_at__gt=now, called_off_at=None):
        children = Place.objects.filter(walk=walk, given_back_at=None).exclude(person__band=ADULT)
        sold = Booking.objects.filter(pk__in=children.values("booking"), state=Booking.State.CONFIRMED)
        bookings = list(sold.select_related("party__contact").order_by("pk"))
        if bookings and short_of_adults(walk.pk, now=now):
            for booking in bookings:
                write_to(booking, OutboxMessage.Kind.SHORT_OF_ADULTS, version=walk.pk, now=now)
