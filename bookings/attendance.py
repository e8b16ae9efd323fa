"""Attendance as pages and certificates show it."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db.models import QuerySet

from bookings.compute.attendance import CONFLICT, PRESENT, Mark, sessions_needed, standing
from bookings.models import AttendanceMark, Booking, Place
from foraywright.floor.models import Business, User
from foraywright.floor.pdf import Pdf, render_pdf
from foraywright.floor.printing import render_document
from walks.models import Offering, Walk, WalkGuide

SECONDS = 30


@dataclass(frozen=True, slots=True)
class Attendee:
    """One person of a walk as the page of its attendance shows them."""

    place: Place
    name: str
    standing: str


@dataclass(frozen=True, slots=True)
class Certificate:
    """What one person attended: the sessions as Walks, and the minutes that they lasted."""

    name: str
    sessions: tuple[Walk, ...]
    minutes: int

    @property
    def hours(self) -> str:
        """The time in words: 7 hours 30 minutes."""
        hours, minutes = divmod(self.minutes, 60)
        parts = [
            f"{number} {word}{'' if number == 1 else 's'}" for number, word in ((hours, "hour"), (minutes, "minute"))
        ]
        return " ".join(part for part, number in zip(parts, (hours, minutes), strict=True) if number) or "no time"


def attendees(walk: Walk) -> list[Attendee]:
    """Everybody with a place on `walk`, party by party, and how their attendance stands. Two queries."""
    return [_attendee(one) for one in _places().filter(walk=walk)]


def marked_without_place(walk: Walk) -> list[Attendee]:
    """Whoever was marked on `walk` and has no place on it, as after a cancellation that a phone did not hear of.

    Two queries.
    """
    seated = Place.objects.filter(walk=walk, given_back_at=None)
    left = Place.objects.filter(walk=walk, given_back_at__isnull=False, marks__isnull=False).distinct()
    return [_attendee(one) for one in _whole(left.exclude(person__in=seated.values("person")))]


def _attendee(place: Place) -> Attendee:
    return Attendee(place, _name(place), standing_of(place))


def _places() -> QuerySet[Place]:
    """Places that were not given back, of bookings that still stand: a checkout that ran out left nobody behind."""
    return _whole(Place.objects.filter(given_back_at=None, booking__state=Booking.State.CONFIRMED))


def _whole(places: QuerySet[Place]) -> QuerySet[Place]:
    whole = places.select_related("person", "booking__party__contact").prefetch_related("marks")
    return whole.order_by("booking__booked_at", "booking", "person")


def standing_of(place: Place, *, at: datetime | None = None) -> str:
    """How the attendance of one place stands, or stood `at` an instant. No query with marks prefetched."""
    seen = [one for one in place.marks.all() if at is None or one.seen_at <= at]
    return standing([Mark(one.state, one.seen_at, one.by, one.settles) for one in seen])


def _name(place: Place) -> str:
    return place.person.name or f"(a person of {place.booking.party.contact.name}’s party)"


@dataclass(frozen=True, slots=True)
class Noted:
    """One mark as the register's history shows it; `in_doubt`: the marks of that person contradict each other."""

    mark: AttendanceMark
    name: str
    by: str
    in_doubt: bool


def history_of(walk: Walk) -> list[Noted]:
    """Every mark of `walk`, in the order in which it reached us. Six queries."""
    people = {one.place.pk: one for one in (*attendees(walk), *marked_without_place(walk))}
    marks = AttendanceMark.objects.filter(place__in=people).select_related("copy").order_by("pk")
    names = {one.public_id: str(one) for one in User.objects.filter(public_id__in={mark.by for mark in marks})}
    return [
        Noted(one, people[one.place_id].name, names.get(one.by, one.by), people[one.place_id].standing == CONFLICT)
        for one in marks
    ]


def certificates_of(offering: Offering, *, booking: Booking | None = None, now: datetime) -> list[Certificate]:
    """One certificate for each person who was at the stated share of the sessions, once the last is over; else none.

    Only "present" counts: who left early has not been at the whole session. Three queries.
    """
    walks = list(offering.walks.select_related("site", "theme", "offering__theme").order_by("number"))
    if offering.state != Offering.State.PUBLISHED or any(walk.ends_at > now for walk in walks):
        return []
    places = _places().filter(walk__in=walks)
    attended = _attended(places.filter(booking=booking) if booking else places, walks)
    needed = sessions_needed(len(walks), offering.certificate_percent)
    return [one for one in attended if len(one.sessions) >= needed]


def _attended(places: Iterable[Place], walks: Sequence[Walk]) -> list[Certificate]:
    names: dict[int, str] = {}
    there: dict[int, set[int]] = {}
    for place in places:
        names[place.person_id] = place.person.name
        if standing_of(place) == PRESENT:
            there.setdefault(place.person_id, set()).add(place.walk_id)
    return [
        _certificate(name, [walk for walk in walks if walk.pk in there.get(key, ())]) for key, name in names.items()
    ]


def _certificate(name: str, sessions: Sequence[Walk]) -> Certificate:
    return Certificate(name, tuple(sessions), sum(walk.minutes for walk in sessions))


def certificates_html(offering: Offering, certificates: Sequence[Certificate]) -> str:
    """The certificates as one document, a page each."""
    leads = WalkGuide.objects.filter(walk__offering=offering, role=WalkGuide.Role.LEADS).select_related("guide")
    context = {
        "business": Business.objects.get(),
        "offering": offering,
        "certificates": certificates,
        "sessions": offering.walks.count(),
        "needed": sessions_needed(offering.walks.count(), offering.certificate_percent),
        "leaders": list(dict.fromkeys(one.guide.name for one in leads.order_by("starts_at"))),
    }
    return render_document("print/attendance.html", context)


def certificates_pdf(offering: Offering, certificates: Sequence[Certificate]) -> Pdf:
    """The same as a PDF, within 30 seconds. Raises PdfFailed. Never stored: it is made of names."""
    html = certificates_html(offering, certificates)
    return render_pdf(html, identifier=hashlib.sha256(html.encode("utf-8")).hexdigest(), seconds=SECONDS)
