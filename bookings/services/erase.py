"""Erase what is personal: when its time is over, or because somebody asks."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from bookings.compute.retention import years_after
from bookings.errors import NotErased
from bookings.lifts import overdue_lifts
from bookings.models import (
    AccessNeed,
    Booking,
    CardPayment,
    Declaration,
    GroupEnquiry,
    IncidentPerson,
    Invoice,
    OutboxMessage,
    Person,
    RegisterCopy,
    WalkUp,
)
from bookings.retention import (
    ERASED,
    YEARS_OF_INVOICES,
    health_ended,
    law,
    names_until,
    overdue_chargebacks,
    overdue_health,
    overdue_incidents,
    overdue_lines,
    overdue_names,
    overdue_payers,
    overdue_words,
)
from bookings.seen import asker_mark, party_mark
from bookings.services.ask_for_group import empty_enquiries
from bookings.services.booking_link import shut_links
from bookings.services.share_lifts import end_lift
from bookings.tombstones import set_tombstone
from foraywright.floor.acts import By, act, forget_said, record, require_act
from foraywright.floor.compute.short_codes import spoken
from foraywright.floor.refusals import SeenOtherwise, as_seen

LOT = 500
"""Bookings looked at with one set of queries; they are many, since children's names are kept for years longer."""

NOTHING = "Nothing was erased."
OTHERS = "Somebody changed whom this would erase since the page was made."

LIVE = (Booking.State.CONFIRMED, Booking.State.HELD)


@act
def erase_party(booking: Booking, *, reason: str, seen: str | None = None, by: By, now: datetime) -> None:
    """Take everything personal out of a booking, because somebody asks. Raises NotErased.

    `seen`: the mark of whom the page showed (`party_mark`); raises SeenOtherwise where it would erase somebody else.
    The booking is locked: somebody could otherwise declare, or become its contact, in between.
    """
    booking = Booking.objects.select_for_update().get(pk=booking.pk)
    as_seen(seen, party_mark(booking), SeenOtherwise(OTHERS, became=NOTHING))
    reasons = against_erasing(booking, now=now)
    if reasons:
        raise NotErased(NOTHING, why=reasons, became="Everything stays as it was.")
    _erase_health(booking)
    _erase_names(booking, now=now)
    record("erase personal data", booking, by=by, now=now, fields=("names", "addresses", "answers"), said=reason)


def against_erasing(booking: Booking, *, now: datetime) -> list[str]:
    """Why what is personal in `booking` may not be erased yet; none where it may. Two queries."""
    reasons = []
    if booking.state in LIVE and booking.offering.walks.filter(ends_at__gt=now).exists():
        reasons.append("The walk is still to come. Cancel the booking first, or wait until the walk is over.")
    for kept in booking.kept_longer.filter(until__gte=now.date()):
        reasons.append(f"It is kept until {kept.until:%-d %B %Y}: {kept.reason}.")
    return reasons


@act
def erase_enquiry(enquiry: GroupEnquiry, *, reason: str, seen: str | None = None, by: By, now: datetime) -> None:
    """Take out who asked for a group's walk, because they ask. Raises NotErased where it became a booking to come.

    `seen`: the mark of who asked, as shown (`asker_mark`); raises SeenOtherwise. The row is locked: somebody else could
    otherwise be put there in between. What it became is a booking of its own, and is erased as every booking.
    """
    enquiry = GroupEnquiry.objects.select_for_update().get(pk=enquiry.pk)
    as_seen(seen, asker_mark(enquiry), SeenOtherwise(OTHERS, became=NOTHING))
    live = Booking.objects.filter(quotes__enquiry=enquiry, state__in=LIVE, offering__walks__ends_at__gt=now)
    if booking := live.first():
        why = f"Booking {spoken(booking.code)} came of it, and its walk is still to come."
        raise NotErased(NOTHING, why=[why], became="Everything stays as it was.")
    set_tombstone(enquiry.public_id, now=now)
    empty_enquiries(GroupEnquiry.objects.filter(pk=enquiry.pk), now=now)
    record("erase enquiry", enquiry, by=by, now=now, fields=("name", "addresses", "needs"), said=reason)


@act
def erase_next_lift(*, now: datetime) -> bool:
    """Erase the next shared lift that is over; whether there was any."""
    share = overdue_lifts(now=now).select_related("booking").first()
    if share is None:
        return False
    end_lift(share.booking, now=now)
    record("erase a shared lift", share.booking, by="worker", now=now, fields=("lift",))
    return True


@act
def erase_next_answers(*, now: datetime) -> bool:
    """Erase what was declared and asked in the next booking of which it is overdue; whether there was any."""
    booking = overdue_health(now=now).first()
    if booking is None:
        return False
    booking = Booking.objects.select_for_update().get(pk=booking.pk)
    _erase_health(booking)
    record("erase overdue answers", booking, by="worker", now=now, fields=("answers",))
    return True


@act
def erase_next_names(*, now: datetime) -> bool:
    """Erase the names of the next booking of which they are overdue; whether there was any."""
    rule = law()
    for booking in overdue_names(now=now).iterator(chunk_size=LOT):
        if names_until(booking, rule) < now.date():
            _erase_names(booking, now=now)
            record("erase overdue names", booking, by="worker", now=now, fields=("names", "addresses"))
            return True
    return False


@act
def forget_keys(*, now: datetime) -> None:
    """Delete the keys of register copies; what a phone still sends then can be opened by nobody."""
    over = RegisterCopy.objects.filter(walk__ends_at__lte=health_ended(now=now))
    over.filter(private_key__isnull=False).update(private_key=None)


@act
def forget_incidents(*, now: datetime) -> bool:
    """Empty reports of which no claim can come any more; whether there was any."""
    IncidentPerson.objects.filter(incident__in=overdue_incidents(now=now)).update(name=None)
    return bool(overdue_incidents(now=now).update(happened=None, done=None))


@act
def forget_payers(*, now: datetime) -> bool:
    """Empty what bank and card provider told of who paid, of no booking and overdue; whether there was any."""
    lines = overdue_lines(now=now).update(payer="", text="")
    return bool(lines + overdue_payers(now=now).update(**CardPayment.NOTHING_TOLD))


@act
def erase_again(contact_id: str, *, now: datetime) -> bool:
    """Erase, after a restore, what a tombstone says was erased before; whether there was anything.

    `contact_id` is of a contact, or of an enquiry.
    """
    if enquiry := GroupEnquiry.objects.filter(public_id=contact_id, forgotten_at=None).first():
        empty_enquiries(GroupEnquiry.objects.filter(pk=enquiry.pk), now=now)
        record("erase again after a restore", enquiry, by="command", now=now, fields=("name", "addresses", "needs"))
        return True
    booking = Booking.objects.filter(party__contact__public_id=contact_id, party__contact__erased_at=None).first()
    if booking is None:
        return False
    _erase_health(booking)
    _erase_names(booking, now=now)
    record("erase again after a restore", booking, by="command", now=now, fields=("names", "addresses", "answers"))
    return True


def _erase_health(booking: Booking) -> None:
    """The step that deletes what was declared and asked."""
    require_act()
    Declaration.objects.filter(person__party_id=booking.party_id).delete()
    AccessNeed.objects.filter(booking=booking).delete()
    WalkUp.objects.filter(booking=booking).update(heard=None)


def _erase_names(booking: Booking, *, now: datetime) -> None:
    """The step that takes out names, addresses and lifts and shuts the links. Bands, places and money stay.

    The tombstone is written first: should the transaction fail after it, erasing again after a restore does no harm.
    """
    require_act()
    end_lift(booking, now=now)
    contact = booking.party.contact
    set_tombstone(contact.public_id, now=now)
    contact.name, contact.email, contact.phone, contact.address = "", "", "", ""
    contact.erased_at = now
    contact.save()
    people = Person.objects.filter(party_id=booking.party_id)
    shut_links(booking, now=now)
    people.update(name="", folded="")
    booking.bank_lines.update(payer="", text="")
    booking.card_payments.update(**CardPayment.NOTHING_TOLD)
    empty_enquiries(GroupEnquiry.objects.filter(quotes__booking=booking), now=now)
    OutboxMessage.objects.filter(booking=booking).update(as_sent=None, former_address=None)
    IncidentPerson.objects.filter(person__party_id=booking.party_id).update(name=None)
    # What the office wrote may name somebody; that it looked, rang, and what was broken, stays.
    WalkUp.objects.filter(booking=booking).exclude(answer="").update(answer=ERASED)
    OutboxMessage.objects.filter(booking=booking).exclude(handled_why="").update(handled_why=ERASED)
    booking.recalls.exclude(reason="").update(reason=ERASED)
    booking.chargebacks.exclude(reason="").update(reason=ERASED)
    forget_said([booking.public_id, *booking.bank_lines.values_list("public_id", flat=True)])


@act
def forget_words(*, now: datetime) -> bool:
    """Empty what the office wrote of why it did something, overdue by itself; whether there was any."""
    chargebacks = overdue_chargebacks(now=now).update(reason=ERASED)
    return bool(overdue_words(now=now).update(said=None) + chargebacks)


@act
def forget_buyers(*, now: datetime) -> None:
    """Empty the buyers of papers as old as tax law asks for them; amounts and numbers stay."""
    old = years_after(now.date(), -YEARS_OF_INVOICES)
    Invoice.objects.filter(issued_on__lt=old).exclude(buyer="").update(buyer="")


ERASINGS: tuple[Callable[..., object], ...] = (
    erase_next_lift,
    erase_next_answers,
    erase_next_names,
    forget_keys,
    forget_incidents,
    forget_payers,
    forget_words,
    forget_buyers,
)
"""What the worker erases when its time is over, each by itself and until nothing of it is left: a fault in one leaves
the others alone."""
