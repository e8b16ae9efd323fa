"""Change who is written to: the contact of a booking, or of a group that asked."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.db.models import QuerySet

from bookings.errors import NotChanged
from bookings.models import Booking, Contact, GroupEnquiry, GroupQuote, OutboxMessage
from bookings.quote_states import OPEN, quote_state
from bookings.seen import asker_mark, contact_mark
from bookings.services.ask_for_group import shut_quotes
from bookings.services.booking_link import shut_links
from bookings.services.outbox import write_to, write_to_former, write_to_group
from foraywright.floor.acts import act, record, require_act
from foraywright.floor.models import User
from foraywright.floor.refusals import SeenOtherwise, as_seen

NOT_CHANGED = "The contact was not changed."
CHANGED = "Somebody else changed the contact since the page was made."


@dataclass(frozen=True, slots=True)
class NewContact:
    """Who is written to from now on. Without an e-mail address letters go by post to `address`."""

    name: str
    email: str
    phone: str
    address: str = ""


@act
def change_contact(booking: Booking, new: NewContact, *, seen: str | None = None, by: User, now: datetime) -> Booking:
    """Write to `new` from now on: every link that was sent before is shut, and a letter brings a new one.

    A former e-mail address is told so, without any link and without a word of the new contact.

    Links that people of the party were given for themselves are shut too: whoever had the old link could have made
    them. Of a group the enquiry follows. `seen`: the mark of the contact that was shown (`contact_mark`). Raises
    NotChanged and SeenOtherwise. Booking, contact and waiting letters are locked: a letter that is being sent at this
    moment would bring a new link to the old address.
    """
    booking = Booking.objects.select_for_update(of=("self",)).select_related("offering", "party").get(pk=booking.pk)
    contact = Contact.objects.select_for_update().get(pk=booking.party.contact_id)
    as_seen(seen, contact_mark(contact), SeenOtherwise(CHANGED, became=NOT_CHANGED))
    changed = _changed(contact, new, ("name", "email", "phone", "address"))
    _refuse(contact.erased_at, changed, OutboxMessage.objects.filter(booking=booking), now=now)
    old = contact.email
    for name in changed:
        setattr(contact, name, getattr(new, name))
    contact.save()
    booking.party.contact = contact
    shut_links(booking, now=now)
    for enquiry in GroupEnquiry.objects.filter(quotes__booking=booking, forgotten_at=None).distinct():
        _write_enquiry(enquiry, new, now=now)
    booking.version += 1
    booking.save(update_fields=["version"])
    write_to(booking, OutboxMessage.Kind.CONTACT, now=now)
    if old not in ("", new.email):
        write_to_former(booking, old, now=now)
    record("change contact", booking, by=by, now=now, fields=changed)
    return booking


@act
def change_asker(enquiry: GroupEnquiry, new: NewContact, *, seen: str | None = None, by: User, now: datetime) -> None:
    """The same for a group that asked: the links of its quotes are shut, and open quotes are sent anew.

    `seen`: the mark of who was shown (`asker_mark`). Raises NotChanged and SeenOtherwise. What was booked has a contact
    of its own, which stays.
    """
    enquiry = GroupEnquiry.objects.select_for_update().get(pk=enquiry.pk)
    as_seen(seen, asker_mark(enquiry), SeenOtherwise(CHANGED, became=NOT_CHANGED))
    changed = _changed(enquiry, new, ("name", "email", "phone"))
    _refuse(enquiry.forgotten_at, changed, OutboxMessage.objects.filter(quote__enquiry=enquiry), now=now)
    old, newest = enquiry.email, enquiry.quotes.order_by("made_at").last()
    _write_enquiry(enquiry, new, now=now)
    if newest is not None and old not in ("", new.email):
        write_to_former(newest, old, now=now)
    record("change contact", enquiry, by=by, now=now, fields=changed)


def _changed(row: Contact | GroupEnquiry, new: NewContact, names: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(name for name in names if getattr(row, name) != getattr(new, name))


def _refuse(
    erased_at: datetime | None, changed: tuple[str, ...], letters: QuerySet[OutboxMessage], *, now: datetime
) -> None:
    if erased_at is not None:
        raise NotChanged(NOT_CHANGED, why=["Names and addresses were erased."])
    if not changed:
        raise NotChanged(NOT_CHANGED, why=["That is what we have already."])
    unsent = letters.select_for_update(of=("self",)).filter(done_at=None, given_up_at=None)
    if any(one.lease_until and one.lease_until > now for one in unsent):
        why = "A letter is being sent to the old address at this moment."
        raise NotChanged(NOT_CHANGED, why=[why], now="Try again in a few minutes.")


def _write_enquiry(enquiry: GroupEnquiry, new: NewContact, *, now: datetime) -> None:
    """The step that writes who asks for the group now, and sends open quotes there."""
    require_act()
    enquiry.name, enquiry.email, enquiry.phone = new.name, new.email, new.phone
    enquiry.save(update_fields=["name", "email", "phone"])
    shut_quotes(GroupQuote.objects.filter(enquiry=enquiry), now=now)
    for quote in enquiry.quotes.select_related("offering").order_by("made_at"):
        if quote_state(quote, now=now) == OPEN:
            write_to_group(quote, now=now)
