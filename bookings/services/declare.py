"""Keep what somebody declares for their safety."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import datetime

from bookings.errors import NotDeclared
from bookings.models import Booking, Declaration, Person, RulesAccepted, SaidBy
from bookings.queries import ADULT
from foraywright.floor.acts import By, act, record, require_act
from foraywright.floor.models import PolicyVersion

LIVE = (Booking.State.CONFIRMED, Booking.State.HELD)


@dataclass(frozen=True, slots=True)
class Answers:
    """What one person declares; an empty health answer says "nothing to declare"."""

    allergies: str
    conditions: str
    medicines: str
    diet: str
    emergency_name: str
    emergency_phone: str
    emergency_relation: str
    photos: bool


@act
def declare(
    person: Person, answers: Answers, *, said_by: SaidBy, rules: PolicyVersion, by: By, now: datetime
) -> Declaration:
    """Write the declaration of `person` over an earlier one, and that the `rules` were accepted. Raises NotDeclared.

    The booking is locked: the person could otherwise be erased in between, and the answers come after the erasing.
    """
    booking = Booking.objects.select_for_update().get(party_id=person.party_id)
    kept = Person.objects.filter(pk=person.pk).first()
    if booking.state not in LIVE or kept is None:
        raise NotDeclared(
            "This booking has ended, so nobody comes with it.",
            became="Nothing of what you wrote was kept.",
        )
    _refuse_a_child_without_its_guardian(kept, said_by)
    declared = write_declaration(booking, kept, answers, said_by=said_by, rules=rules, now=now)
    record("declare", kept, by=by, now=now, fields=("declaration", "ground rules"))
    return declared


def write_declaration(
    booking: Booking, person: Person, answers: Answers, *, said_by: SaidBy, rules: PolicyVersion, now: datetime
) -> Declaration:
    """The step that writes the declaration of a person of a locked booking, and that they accepted the `rules`."""
    require_act()
    Declaration.objects.filter(person=person).delete()
    RulesAccepted.objects.create(booking=booking, person=person, rules=rules, said_by=said_by, at=now)
    return Declaration.objects.create(person=person, said_by=said_by, rules=rules, given_at=now, **asdict(answers))


def _refuse_a_child_without_its_guardian(person: Person, said_by: SaidBy) -> None:
    if person.band != ADULT and said_by != SaidBy.GUARDIAN:
        raise NotDeclared(
            "A child’s details are taken from a parent or guardian.",
            became="Nothing of what you wrote was kept.",
            now="Ask the adult who looks after the child to fill this in.",
        )
