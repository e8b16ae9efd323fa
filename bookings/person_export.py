"""What is kept of people of one booking, for whichever of them asks for it. Reading it is a look, written down."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from typing import Any

from django.db.models import Q, QuerySet
from django.utils import timezone

from bookings.models import (
    AccessNeed,
    Booking,
    CardPayment,
    Declaration,
    Delivery,
    GroupEnquiry,
    GroupQuote,
    IncidentPerson,
    LiftShare,
    Look,
    OutboxMessage,
    Person,
    WalkUp,
)
from bookings.retention import health_kept_until, law, names_until
from bookings.services.ask_for_group import KEPT
from foraywright.floor.acts import act, record
from foraywright.floor.compute.clock_words import day_words
from foraywright.floor.compute.money import as_text
from foraywright.floor.models import ActWords, User

DECLARED = (
    "allergies",
    "conditions",
    "medicines",
    "diet",
    "emergency_name",
    "emergency_phone",
    "emergency_relation",
    "photos",
)

Section = dict[str, Any]
A_MOMENT = re.compile(r"\d{4}-\d\d-\d\d(T\d\d:\d\d:\d\d(\.\d+)?[+-]\d\d:\d\d)?")


@act
def export_of(booking: Booking, people: Iterable[Person], *, booked: bool, by: User, now: datetime) -> Section:
    """Return all that is kept of `people` of the party, ready for JSON, and write down that it was opened.

    Whoever asks is given their own: an adult who declared by a link of theirs told us, not who booked. `booked`: who
    booked asks, and is given what is kept of the booking as a whole.
    """
    people = list(people)
    Look.objects.bulk_create(Look(at=now, who=by, what=Look.What.EXPORT, person_id_of=one.public_id) for one in people)
    record("export personal data", booking, by=by, now=now)
    accepted = booking.rules_accepted.filter(Q(person__in=people) | Q(person=None) if booked else Q(person__in=people))
    return {
        "made": now.isoformat(),
        "booking": {
            "code": booking.code,
            "walk": booking.offering.title,
            "days": [f"{one:%Y-%m-%d}" for one in booking.offering.walks.values_list("local_date", flat=True)],
            "state": booking.get_state_display(),
        },
        "people": [_person(one) for one in people],
        "others of the party": booking.party.people.exclude(pk__in=[one.pk for one in people]).count(),
        **(_of_who_booked(booking) if booked else {}),
        "ground rules accepted": [f"{one.at:%Y-%m-%d} {one.rules}" for one in accepted],
        "incidents": [_incident(one) for one in _parts(people)],
        "who looked": _looks([*([booking.public_id] if booked else []), *(one.public_id for one in people)]),
        "kept until": {
            "answers": health_kept_until(booking).date().isoformat(),
            "names": names_until(booking, law()).isoformat(),
        },
    }


def _of_who_booked(booking: Booking) -> Section:
    contact = booking.party.contact
    asked = GroupEnquiry.objects.filter(quotes__booking=booking).distinct()
    return {
        "who booked": {
            "name": contact.name,
            "e-mail": contact.email,
            "phone": contact.phone,
            "address": contact.address,
        },
        "access": [_need(one) for one in booking.access_needs.select_related("answered_by")],
        "lifts": [_lift(one) for one in LiftShare.objects.filter(booking=booking)],
        "money": [_transfer(one) for one in booking.transfers.select_related("debit", "credit").order_by("at")],
        "invoices": [f"{one.issued_on} {one}: {one.buyer}" for one in booking.invoices.all()],
        "bank": [f"{one.booked_on} {one.payer}: {one.text}" for one in booking.bank_lines.all()],
        "card": [_told(one, CardPayment.TOLD) for one in booking.card_payments.all()],
        "letters": [_letter(one) for one in booking.messages.order_by("written_at", "pk")],
        "asked for as a group": [_enquiry(one) for one in asked],
        "handouts": _handouts(booking),
        "recalls": [
            f"{one.changed_at:%Y-%m-%d} {one.get_state_display()}: {one.reason}" for one in booking.recalls.all()
        ],
        "came without a booking": _walk_up(booking),
        "why we did what we did": _said(booking),
        "kept longer": [f"until {one.until}: {one.reason}" for one in booking.kept_longer.order_by("pk")],
    }


def may_be_handed(booking: Booking) -> QuerySet[Person]:
    """The people of the party, with what `export_of` reads of each. Its one query."""
    return booking.party.people.select_related("guardian", "declaration").order_by("pk")


@act
def export_of_enquiry(enquiry: GroupEnquiry, *, by: User, now: datetime) -> Section:
    """Return all that is kept of a group that asked, ready for JSON, and write down that it was opened."""
    record("export personal data", enquiry, by=by, now=now)
    return {"made": now.isoformat(), **_enquiry(enquiry), "kept until": f"{enquiry.asked_at + KEPT:%Y-%m-%d}"}


def _enquiry(enquiry: GroupEnquiry) -> Section:
    letters = OutboxMessage.objects.filter(quote__enquiry=enquiry).order_by("written_at", "pk")
    return {
        "asked": enquiry.asked_at.isoformat(),
        **_told(enquiry, ("group", "size", "leaders", *GroupEnquiry.TOLD)),
        "quotes": [_quote(one) for one in enquiry.quotes.select_related("offering").order_by("made_at")],
        "letters": [_letter(one) for one in letters],
    }


def _quote(quote: GroupQuote) -> str:
    return f"{quote.made_at:%Y-%m-%d} {quote.offering}: {as_text(quote.total_minor, quote.currency)}"


def _letter(message: OutboxMessage) -> Section:
    sent = message.done_at if message.as_sent else None
    return {
        "kind": message.get_kind_display(),
        "written": f"{message.written_at:%Y-%m-%d}",
        "sent": sent and sent.isoformat(),
        "to a former address": message.former_address,
        "text": message.as_sent,
        "instead of it": message.handled_why,
    }


def _told(row: CardPayment | GroupEnquiry, fields: Sequence[str]) -> Section:
    """What somebody told in `fields`, those left out that are empty."""
    told = {name.replace("_", " "): getattr(row, name) for name in fields}
    return {name: str(value) for name, value in told.items() if value}


def _person(person: Person) -> Section:
    declared: Declaration | None = getattr(person, "declaration", None)
    told = {name.replace("_", " "): getattr(declared, name) for name in DECLARED} if declared else None
    guardian = person.guardian.name if person.guardian else ""
    return {"name": person.name, "age": person.band, "in the charge of": guardian, "declared": told}


def _walk_up(booking: Booking) -> Section | None:
    found = WalkUp.objects.filter(booking=booking).select_related("added_by", "copy").first()
    if found is None:
        return None
    return {
        "came": found.came_at.isoformat(),
        "added by": str(found.added_by),
        "on": str(found.copy or ""),
        "pays": found.get_pays_display(),
        "asked of health": WalkUp.Heard(found.heard).label if found.heard else "",
        "against it": found.against,
        "answer": found.answer,
    }


def _parts(people: Sequence[Person]) -> Sequence[IncidentPerson]:
    return list(IncidentPerson.objects.filter(person__in=people).select_related("incident"))


def _incident(part: IncidentPerson) -> Section:
    """The person's part in an incident. Its account may speak of others: the office reads it before it is given out."""
    incident = part.incident
    return {
        "name": part.name,
        "part": part.get_role_display(),
        "kind": incident.get_kind_display(),
        "when": incident.at.isoformat(),
        "where": incident.place,
        "account": "may speak of others; ask the office for it",
    }


def _need(need: AccessNeed) -> Section:
    return {"asked": need.need, "answered": need.answer, "by": str(need.answered_by or "")}


def _lift(one: LiftShare) -> Section:
    return {
        "kind": one.get_kind_display(),
        "seats": one.seats,
        "from": one.area,
        "first name": one.first_name,
        "shown once agreed": one.get_shows_display(),
    }


def _transfer(one: Any) -> str:
    amount = as_text(one.amount_minor, one.currency)
    return f"{one.at:%Y-%m-%d} {one.get_kind_display()}: {amount}, from {one.credit} to {one.debit}"


def _handouts(booking: Booking) -> Sequence[str]:
    given = Delivery.objects.filter(booking=booking).select_related("document").order_by("at")
    return [f"{one.at:%Y-%m-%d} {one.document.kind}, {one.get_channel_display().lower()}" for one in given]


def _said(booking: Booking) -> Sequence[str]:
    """What the office wrote of its acts on the booking and the money that came for it."""
    ids = [booking.public_id, *booking.bank_lines.values_list("public_id", flat=True)]
    words = ActWords.objects.filter(line__object_id__in=ids, said__isnull=False).select_related("line")
    return [f"{one.line.at:%Y-%m-%d} {one.line.act}: {one.said}" for one in words.order_by("line")]


def _looks(ids: Sequence[str]) -> Sequence[str]:
    looks = Look.objects.filter(person_id_of__in=ids).select_related("who").order_by("at")
    return [f"{timezone.localtime(one.at):%Y-%m-%d %H:%M} {one.who}: {one.get_what_display().lower()}" for one in looks]


def in_lines(found: Section) -> list[tuple[str, list[str]]]:
    """The export for reading: its sections, each as parts of lines; what is empty is left out. Times by our clock."""
    return [(title, list(_lines(part))) for title, part in found.items()]


def _lines(part: Any) -> Iterator[str]:
    if isinstance(part, dict):
        for term, value in part.items():
            if said := "; ".join(_lines(value)):
                yield f"{term}: {said}"
    elif isinstance(part, list):
        yield from ("\n".join(_lines(one)) for one in part)
    elif isinstance(part, bool):
        yield "yes" if part else "no"
    elif part not in ("", None):
        yield _in_words(str(part))


def _in_words(text: str) -> str:
    """`text` as it stands, but for an instant or a day of the file's form."""
    if not A_MOMENT.fullmatch(text):
        return text
    moment = datetime.fromisoformat(text)
    if moment.tzinfo is None:
        return day_words(moment)
    here = timezone.localtime(moment)
    return f"{day_words(here)}, {here:%H:%M}"
