"""The register of a walk: staff only, set on request and never stored, because it is all personal data."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from bookings.models import Booking, Person
from bookings.queries import ADULT, balance, live_bookings, prices_of, statement_of
from foraywright.floor.pdf import Pdf, render_pdf
from foraywright.floor.printing import render_document
from walks.documents import walk_facts
from walks.models import Walk
from walks.queries import ratio_policy, walk_limits

SECONDS = 30
WALK_UPS = 3


@dataclass(frozen=True, slots=True)
class RegisterLine:
    """One person of the register. `in_charge`: who looks after this child; empty for adults and the pool."""

    person: Person
    name: str
    band: str
    in_charge: str
    in_pool: bool


@dataclass(frozen=True, slots=True)
class RegisterParty:
    """One booking of the register. `owed` in minor units; below zero where we owe the party."""

    booking: Booking
    lines: tuple[RegisterLine, ...]
    owed: int


def register_html(walk: Walk, now: datetime) -> str:
    """The register of `walk` as of `now`: who comes, in whose charge, what is owed, and how the limits stand."""
    parties = [_party(one, walk) for one in live_bookings(walk.offering, now=now)]
    limits = walk_limits(walk)
    context = {
        **walk_facts(walk),
        "as_of": now.astimezone(walk.clock),
        "parties": parties,
        "bands": _by_band(parties),
        "statement": statement_of(walk, now=now, limits=limits),
        "staff": len(limits.staff),
        "currency": prices_of(walk.offering).currency,
        "owed": sum(max(0, one.owed) for one in parties),
        "walk_ups": range(WALK_UPS),
    }
    return render_document("print/register.html", context)


def register_pdf(walk: Walk, now: datetime) -> Pdf:
    """The register as a PDF, within 30 seconds. Raises PdfFailed."""
    html = register_html(walk, now)
    return render_pdf(html, identifier=hashlib.sha256(html.encode("utf-8")).hexdigest(), seconds=SECONDS)


def _party(booking: Booking, walk: Walk) -> RegisterParty:
    labels = {band.key: band.label for band in ratio_policy(walk.offering.ratios).bands} | {ADULT: "adult"}
    people = sorted(booking.party.people.all(), key=lambda one: one.pk)
    names = {one.pk: one.name or _unnamed(number, booking) for number, one in enumerate(people, start=1)}
    lines = tuple(_line(one, names, labels) for one in people)
    return RegisterParty(booking, lines, balance(booking))


def _unnamed(number: int, booking: Booking) -> str:
    return f"Person {number} of {booking.party.contact.name}’s party"


def _line(person: Person, names: dict[int, str], labels: dict[str, str]) -> RegisterLine:
    in_charge = names.get(person.guardian_id, "") if person.guardian_id else ""
    return RegisterLine(
        person=person,
        name=names[person.pk],
        band="leader" if person.is_leader else labels.get(person.band, person.band),
        in_charge=in_charge,
        in_pool=person.band != ADULT and not in_charge,
    )


def _by_band(parties: Sequence[RegisterParty]) -> list[tuple[str, int]]:
    """How many come of each band, in the order in which they are met."""
    counted: dict[str, int] = {}
    for line in (line for one in parties for line in one.lines):
        counted[line.band] = counted.get(line.band, 0) + 1
    return list(counted.items())
