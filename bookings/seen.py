"""Marks of whom a page shows before something is done to them that cannot be undone."""

from __future__ import annotations

from bookings.models import Booking, Contact, GroupEnquiry
from foraywright.floor.refusals import mark_of


def contact_mark(contact: Contact) -> str:
    """Whom a booking writes to. No query."""
    return mark_of(contact.name, contact.email, contact.phone, contact.address)


def asker_mark(enquiry: GroupEnquiry) -> str:
    """Who asks for a group. No query."""
    return mark_of(enquiry.name, enquiry.email, enquiry.phone, enquiry.group)


def party_mark(booking: Booking) -> str:
    """Who comes with a booking, and whom it writes to. One query."""
    people = booking.party.people.order_by("pk").values_list("public_id", "name")
    return mark_of(contact_mark(booking.party.contact), *people)
