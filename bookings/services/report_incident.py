"""Report an incident or a near miss, with what follows from it."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime
from uuid import UUID

from bookings.errors import IncidentNotKept
from bookings.models import Booking, FollowUp, Incident, IncidentPerson, KeptLonger, Person
from bookings.retention import law, names_until
from foraywright.floor.acts import act, record, require_act
from foraywright.floor.models import User
from walks.models import Walk


@dataclass(frozen=True, slots=True)
class ToDo:
    """What is to be done, by whom, by which day."""

    what: str
    owner: User
    due: date


@dataclass(frozen=True, slots=True)
class Report:
    """What is told of an incident. `people`: participants; `others`: role and name of everybody else."""

    event: UUID
    kind: str
    at: datetime
    place: str
    happened: str
    done: str
    people: tuple[Person, ...] = ()
    others: tuple[tuple[str, str], ...] = ()
    to_do: tuple[ToDo, ...] = field(default=())


@act
def report_incident(walk: Walk, report: Report, *, by: User, now: datetime) -> Incident:
    """Keep the report; bookings of participants in it are kept longer. The same report again is the same incident.

    The walk is locked: a form that is sent twice at once would otherwise fail over its own event. Raises
    IncidentNotKept where it is said to happen later than now.
    """
    walk = Walk.objects.select_for_update().get(pk=walk.pk)
    if before := Incident.objects.filter(event=report.event).first():
        return before
    if report.at > now:
        raise IncidentNotKept(
            "Nothing was kept.", why=("The time is still to come.",), now="Correct the day or the time."
        )
    told = {name: getattr(report, name) for name in ("event", "kind", "at", "place", "happened", "done")}
    incident = Incident.objects.create(walk=walk, reported_by=by, reported_at=now, **told)
    _name_people(incident, report)
    _keep_bookings(incident, report.people, by=by, now=now)
    for one in report.to_do:
        FollowUp.objects.create(incident=incident, what=one.what, owner=one.owner, due=one.due)
    record("report incident", incident, by=by, now=now, fields=(*told, "people", "follow_ups"))
    return incident


def _name_people(incident: Incident, report: Report) -> None:
    require_act()
    part = IncidentPerson.Role.PARTICIPANT
    for one in report.people:
        IncidentPerson.objects.create(incident=incident, role=part, person=one, name=one.name)
    for role, name in report.others:
        IncidentPerson.objects.create(incident=incident, role=role, name=name)


def _keep_bookings(incident: Incident, people: tuple[Person, ...], *, by: User, now: datetime) -> None:
    """The step that keeps what a claim would be decided on, for as long as one can be brought."""
    require_act()
    reason = f"somebody of the party was in an incident on {incident.at:%-d %B %Y}"
    bookings = Booking.objects.filter(party__people__in=people, offering__walks=incident.walk).distinct()
    for booking in bookings:
        KeptLonger.objects.create(booking=booking, reason=reason, until=names_until(booking, law()), by=by, at=now)


@act
def add_follow_up(incident: Incident, to_do: ToDo, *, by: User, now: datetime) -> FollowUp:
    """Add what is to be done; signed assessments of the site turn stale with it."""
    follow_up = FollowUp.objects.create(incident=incident, what=to_do.what, owner=to_do.owner, due=to_do.due)
    record("add follow-up", incident, by=by, now=now, fields=("follow_ups",))
    return follow_up
