"""Intend the letters that the calendar asks for: before a walk, when its handout is there, after its end."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from functools import cache
from pathlib import Path

from django.db.models import Exists, F, OuterRef, QuerySet
from django.db.models.functions import Coalesce

from bookings.models import AttendanceMark, Booking, OutboxMessage, Place
from bookings.services.outbox import write_to
from curriculum.models import Document
from foraywright.floor.acts import act
from walks.models import Walk

FILE = Path(__file__).parents[1] / "policies" / "letters.toml"
Kind = OutboxMessage.Kind
CERTIFIED_WITHIN = timedelta(days=30)
"""After that a mark of attendance is a correction of the record, and nobody is written to."""


@cache
def letters_policy() -> dict[str, timedelta]:
    """How long before or after what each letter goes out."""
    return {key: timedelta(days=days) for key, days in tomllib.loads(FILE.read_text(encoding="utf-8")).items()}


def write_next_ahead(*, now: datetime) -> Booking | None:
    """Intend the next such letter; None where none is due. One query a kind."""
    for kind, due in DUE.items():
        told = OutboxMessage.objects.filter(booking=OuterRef("booking"), kind=kind, version=OuterRef("walk"))
        place = due(now).exclude(Exists(told)).select_related("booking__party__contact").order_by("pk").first()
        if place is not None:
            _intend(place, kind, now=now)
            return place.booking
    return None


@act
def _intend(place: Place, kind: str, *, now: datetime) -> None:
    """Whether it is still true is asked when it is sent."""
    write_to(place.booking, kind, version=place.walk_id, now=now)


def _places() -> QuerySet[Place]:
    """Places of confirmed bookings whose address is known, on walks that take place."""
    live = Place.objects.filter(given_back_at=None, booking__state=Booking.State.CONFIRMED)
    return live.filter(walk__called_off_at=None, booking__party__contact__erased_at=None)


def _to_come(now: datetime, within: timedelta) -> QuerySet[Place]:
    return _places().filter(walk__starts_at__gt=now, walk__starts_at__lte=now + within)


def _joining(now: datetime) -> QuerySet[Place]:
    return _to_come(now, letters_policy()["joining_days"])


def _undeclared(now: datetime) -> QuerySet[Place]:
    asked_enough = now - letters_policy()["declaration_after"]
    soon = _to_come(now, letters_policy()["declaration_days"])
    return soon.filter(person__declaration=None, booking__booked_at__lte=asked_enough)


def _handout(now: datetime) -> QuerySet[Place]:
    """Of the walk that the link shows, the next of a course. Who booked when it was there has its link already."""
    built = Document.objects.filter(kind=Document.Kind.BOOKLET, subject_id=OuterRef("walk__public_id"))
    built = built.exclude(done_at=None).exclude(file="")
    agreed = Coalesce(F("booking__agreed_at"), F("booking__booked_at"))
    earlier = Walk.objects.filter(
        offering=OuterRef("walk__offering"), ends_at__gt=now, starts_at__lt=OuterRef("walk__starts_at")
    )
    coming = _places().filter(walk__starts_at__gt=now).exclude(Exists(earlier)).annotate(agreed=agreed)
    return coming.filter(Exists(built)).exclude(Exists(built.filter(done_at__lte=OuterRef("agreed"))))


def _attended(now: datetime) -> QuerySet[Place]:
    """Of the last walk of what was booked, where somebody was marked present."""
    present = AttendanceMark.objects.filter(
        place__booking=OuterRef("booking"), state=AttendanceMark.State.PRESENT, place__given_back_at=None
    )
    later = Walk.objects.filter(offering=OuterRef("walk__offering"), ends_at__gt=OuterRef("walk__ends_at"))
    over = now - letters_policy()["certificate_days"]
    last = _places().filter(walk__ends_at__lte=over, walk__ends_at__gt=over - CERTIFIED_WITHIN)
    return last.filter(Exists(present)).exclude(Exists(later))


DUE: Mapping[Kind, Callable[[datetime], QuerySet[Place]]] = {
    Kind.JOINING: _joining,
    Kind.DECLARATION: _undeclared,
    Kind.HANDOUT_READY: _handout,
    Kind.CERTIFICATE: _attended,
}
"""The places whose booking is to be written to of their walk."""
