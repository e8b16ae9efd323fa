"""How long places are held. All figures are our rules; instants are aware, nights are those of the site's clock."""

from __future__ import annotations

from datetime import datetime, time, timedelta, tzinfo

CHECKOUT = timedelta(minutes=20)
MOST_EXTENSIONS = 10
OFFER = timedelta(hours=24)
SHORTEST_OFFER = timedelta(hours=2)
BEFORE_THE_WALK = timedelta(hours=2)
MORNING, EVENING = time(8), time(21)
WARN_CHECKOUT = timedelta(minutes=5)
WARN_OFFER = timedelta(hours=4)


def checkout_end(now: datetime, *, session_ends_at: datetime | None) -> datetime:
    """End of a hold while the party pays: 20 minutes from now, and never after the payment's own session."""
    end = now + CHECKOUT
    return end if session_ends_at is None else min(end, session_ends_at)


def is_night(moment: datetime, zone: tzinfo) -> bool:
    """Whether it is after 21:00 or before 08:00 on the site's clock; 08:00 is day, 21:00 too."""
    clock = moment.astimezone(zone).time()
    return clock < MORNING or clock > EVENING


def offer_end(now: datetime, starts_at: datetime, zone: tzinfo) -> datetime | None:
    """End of an offer made now, or None where none may be made.

    24 hours, but no later than 2 hours before the walk, and never in the night: it then ends on the evening before. An
    offer stands for at least 2 hours, and none is made in the night.
    """
    if is_night(now, zone):
        return None
    end = _out_of_the_night(min(now + OFFER, starts_at - BEFORE_THE_WALK), zone)
    return end if end - now >= SHORTEST_OFFER else None


def is_too_late_for_offers(now: datetime, starts_at: datetime, zone: tzinfo) -> bool:
    """Whether no offer can be made any more before the walk: from then on free places are on open sale."""
    return offer_end(_next_day_hour(now, zone), starts_at, zone) is None


def _out_of_the_night(moment: datetime, zone: tzinfo) -> datetime:
    if not is_night(moment, zone):
        return moment
    local = moment.astimezone(zone)
    evening = local.date() if local.time() > EVENING else local.date() - timedelta(days=1)
    return datetime.combine(evening, EVENING, tzinfo=zone).astimezone(moment.tzinfo)


def _next_day_hour(moment: datetime, zone: tzinfo) -> datetime:
    """`moment`, or the next 08:00 where it is night."""
    if not is_night(moment, zone):
        return moment
    local = moment.astimezone(zone)
    morning = local.date() if local.time() < MORNING else local.date() + timedelta(days=1)
    return datetime.combine(morning, MORNING, tzinfo=zone).astimezone(moment.tzinfo)
