"""The walks of one booking as a calendar of its own: no participant, no link that is a permission."""

from __future__ import annotations

from django.conf import settings
from django.urls import reverse

from bookings.models import Booking, Place
from foraywright.floor.models import Business
from walks.feeds.calendar import calendar
from walks.feeds.entries import CALLED_OFF, Entry, addresses, walks_of
from walks.models import Offering, Walk
from walks.queries import slug_of

CANCELLED = "Your booking is cancelled"
MOVED = "Your booking is moved to another walk"


def own_calendar(booking: Booking) -> bytes:
    """Render the walks of `booking` with METHOD:PUBLISH. Seven queries, and five for each offering that it left.

    A booking that has ended shows its walks as cancelled; one that was moved shows so, too, those that it left, under
    their own UID and with a higher SEQUENCE, since they stand in the reader's calendar: what was published is brought
    up to date by publishing it again (RFC 5546 section 3.2.1). The UIDs are those of the public feed, so that a
    calendar which has both holds each walk once.
    """
    entries = {one.walk.pk: one for one in (*_entries(booking, booking.offering), *_left(booking))}
    walks = [one.walk for one in entries.values()]
    return calendar(walks, lambda walk: entries[walk.pk], Business.objects.get(), method="PUBLISH").content


def _entries(booking: Booking, offering: Offering) -> list[Entry]:
    walks = list(walks_of(offering))
    page, handout = _addresses(offering)
    raised, first = booking.version - 1, walks[0].calendar_uid
    return [
        Entry(walk, page, handout, len(walks), ended=_ended(booking, walk), raised=raised, first=first)
        for walk in walks
    ]


def _left(booking: Booking) -> list[Entry]:
    """The walks that the booking was moved away from; a session that it came to is none of them."""
    given_back = Place.objects.filter(booking=booking, given_back_at__isnull=False)
    elsewhere = given_back.exclude(walk__offering=booking.offering_id)
    gone = set(elsewhere.values_list("walk", flat=True))
    offerings = Offering.objects.filter(walks__in=gone).distinct().order_by("pk")
    return [one for offering in offerings for one in _entries(booking, offering) if one.walk.pk in gone]


def _addresses(offering: Offering) -> tuple[str, str]:
    """Of a group's own walk nothing is public: its entry leads to where one asks for the link, and has no handout."""
    if offering.private:
        return f"{settings.SITE_ADDRESS}{reverse('find_booking')}", ""
    return addresses(slug_of(offering.public_id))


def _ended(booking: Booking, walk: Walk) -> str:
    if walk.called_off_at is not None:
        return CALLED_OFF
    if walk.offering_id != booking.offering_id:
        return MOVED
    return CANCELLED if booking.state == Booking.State.CANCELLED else ""
