"""The walks of one booking as a calendar of its own: no participant, no link that is a permission."""

from __future__ import annotations

from django.conf import settings
from django.urls import reverse

from bookings.models import Booking
from foraywright.floor.models import Business
from walks.feeds.calendar import calendar
from walks.feeds.entries import CALLED_OFF, Entry, addresses, walks_of
from walks.models import Walk
from walks.queries import slug_of

CANCELLED = "Your booking is cancelled"


def own_calendar(booking: Booking) -> bytes:
    """Render the walks of `booking` with METHOD:PUBLISH. A booking that has ended shows them as cancelled. Six queries.

    The UIDs are those of the public feed, so that a calendar which has both holds each walk once.
    """
    walks = list(walks_of(booking.offering))
    page, handout = _addresses(booking)

    def entry(walk: Walk) -> Entry:
        raised, first = booking.version - 1, walks[0].calendar_uid
        return Entry(walk, page, handout, len(walks), ended=_ended(booking, walk), raised=raised, first=first)

    return calendar(walks, entry, Business.objects.get(), method="PUBLISH").content


def _addresses(booking: Booking) -> tuple[str, str]:
    """Of a group's own walk nothing is public: its entry leads to where one asks for the link, and has no handout."""
    if booking.offering.private:
        return f"{settings.SITE_ADDRESS}{reverse('find_booking')}", ""
    return addresses(slug_of(booking.offering.public_id))


def _ended(booking: Booking, walk: Walk) -> str:
    if walk.called_off_at is not None:
        return CALLED_OFF
    return CANCELLED if booking.state == Booking.State.CANCELLED else ""
