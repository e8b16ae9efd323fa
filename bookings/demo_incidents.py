"""A near miss on the walk of the demo that is over. Invented."""

from __future__ import annotations

from datetime import timedelta
from uuid import uuid4

from bookings.models import Incident
from bookings.services.report_incident import Report, ToDo, report_incident
from foraywright.floor.models import User
from walks.models import Walk


def report_for_the_demo(walk: Walk, *, by: User, owner: User) -> None:
    """Nobody was hurt; one follow-up is open."""
    report = Report(
        event=uuid4(),
        kind=Incident.Kind.NEAR_MISS,
        at=walk.starts_at + timedelta(minutes=50),
        place="the plank over the ditch, half way round",
        happened="The plank tipped under the second person who crossed. They stepped back; nobody fell.",
        done="Everybody else went round by the gate.",
        to_do=(
            ToDo(
                "Have the plank over the ditch made fast; until then go round by the gate",
                owner,
                walk.local_date + timedelta(days=21),
            ),
        ),
    )
    report_incident(walk, report, by=by, now=walk.ends_at)
