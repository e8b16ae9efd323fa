"""Look at what people declared: every look is written down, in the same transaction as it is answered."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from bookings.compute.looks import guide_may_look, opens_at
from bookings.errors import NotShown
from bookings.models import AccessNeed, Booking, Declaration, Incident, IncidentPerson, Look, Person
from foraywright.floor.acts import act, require_act
from foraywright.floor.models import User
from walks.models import Walk


@act
def look_at_declaration(
    person: Person,
    walk: Walk,
    *,
    by: User,
    office: bool,
    now: datetime,
    what: Look.What = Look.What.DECLARATION,
) -> Declaration:
    """Return the declaration of `person`, who comes to `walk`. Raises NotShown outside a guide's window.

    `what`: how much of it is going to be shown. Whether `by` may look at this walk at all is asked at the door; here
    only the days are.
    """
    refuse_outside_the_days(walk, office=office, now=now)
    found = Declaration.objects.filter(person=person).first()
    if found is None:
        raise NotShown("Nothing has been declared for this person yet.", became="No look was written down.")
    write_looks([person.public_id], what, walk, by=by, now=now)
    return found


@act
def look_at_access_needs(booking: Booking, *, by: User, now: datetime, walk: Walk | None = None) -> list[AccessNeed]:
    """Return the access needs of `booking`, for the office; for a guide of `walk`, in their days. Raises NotShown."""
    if walk is not None:
        refuse_outside_the_days(walk, office=False, now=now)
    needs = list(booking.access_needs.select_related("answered_by").order_by("asked_at"))
    if needs:
        write_looks([booking.public_id], Look.What.ACCESS, walk, by=by, now=now)
    return needs


@act
def look_at_incident(incident: Incident, *, by: User, now: datetime) -> list[IncidentPerson]:
    """Return who had a part in `incident`. Its account may speak of health, so that where it names nobody, the look is
    at the report itself."""
    people = list(incident.people.select_related("person").order_by("pk"))
    ids = [one.person.public_id if one.person else one.public_id for one in people]
    write_looks(ids or [incident.public_id], Look.What.INCIDENT, incident.walk, by=by, now=now)
    return people


def refuse_outside_the_days(walk: Walk, *, office: bool, now: datetime) -> None:
    """Raise NotShown for a guide before and after the days in which they may look."""
    if not office and not guide_may_look(walk.starts_at, walk.ends_at, now=now):
        raise NotShown(
            "Guides see what was declared from seven days before the walk to one day after it.",
            became="No look was written down.",
            now=f"It opens on {opens_at(walk.starts_at):%-d %B %Y}. The office can tell you what planning needs.",
        )


def write_looks(ids: Iterable[str], what: Look.What, walk: Walk | None, *, by: User, now: datetime) -> None:
    """Step: write down one look for each of the public `ids`."""
    require_act()
    walk_id = walk.public_id if walk else ""
    Look.objects.bulk_create(Look(at=now, who=by, what=what, person_id_of=one, walk_id_of=walk_id) for one in ids)
