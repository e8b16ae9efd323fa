"""How a group's quote stands, for every page and act that asks."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime

from bookings.models import Booking, GroupEnquiry, GroupQuote
from walks.models import Offering

OPEN = "open"
WHY_CLOSED: Mapping[str, str] = {
    "booked": "The quote is accepted.",
    "withdrawn": "The quote was withdrawn.",
    "declined": "The group does not want it.",
    "replaced": "There is a newer quote for this group and walk.",
    "called_off": "The walk is called off.",
    "ran_out": "The quote ran out.",
}
"""The states in which a quote can no longer be accepted, each in a sentence."""


def quote_state(quote: GroupQuote, *, now: datetime) -> str:
    """OPEN, or a key of WHY_CLOSED. At most three queries.

    A newer quote for the same walk replaces one that is open at once, and a booked one once it is booked itself, since
    the same booking then follows the newer one. A quote for another walk stands beside it: what a group was told that
    it could accept until a day holds until then.
    """
    if quote.withdrawn_at is not None:
        return "withdrawn"
    if quote.declined_at is not None:
        return "declined"
    same = GroupQuote.objects.filter(enquiry=quote.enquiry_id, offering=quote.offering_id)
    newer = same.filter(made_at__gt=quote.made_at or now)
    if quote.booking_id is not None:
        return "replaced" if newer.filter(booking=quote.booking_id).exists() else "booked"
    if newer.exists():
        return "replaced"
    if quote.offering.state == Offering.State.CALLED_OFF:
        return "called_off"
    return "ran_out" if quote.valid_until < local_day(quote.offering, now=now) else OPEN


def local_day(offering: Offering, *, now: datetime) -> date:
    """The day of `now` at the site of the quoted walk. One query."""
    return now.astimezone(offering.walks.earliest("starts_at").clock).date()


def booked_by(enquiry: GroupEnquiry, offering: Offering) -> Booking | None:
    """What the group has booked of this walk: its next quote for the same walk changes that. One query."""
    booked = Booking.objects.filter(offering=offering, state=Booking.State.CONFIRMED, quotes__enquiry=enquiry)
    return booked.order_by("-pk").first()
