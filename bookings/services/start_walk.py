"""Start a walk: under a signed assessment that holds, with every hard stop looked at and the weather decided."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from bookings.coming import coming_on
from bookings.errors import WalkNotStarted
from bookings.register import room_on_the_day
from curriculum.queries import accounts_in_use
from foraywright.floor.acts import act, record
from foraywright.floor.models import User
from walks.assessment_state import STALE, UNSIGNED, AssessmentState, state_of
from walks.guides import lost_cover
from walks.models import Guide, LandownersPermission, Offering, Site, Walk, WalkStart
from walks.permissions import against_permission
from walks.queries import cover_for, with_everything
from walks.services.add_to_assessment import leads
from walks.services.sessions import lock_guides
from walks.weather_state import WeatherState, weather_of

EARLIEST = timedelta(hours=2)
"""Before the start: a walk started the evening before would be started without that day's wood or weather."""


@dataclass(frozen=True)
class Readiness:
    """Everything that is looked at before a walk starts. `stops`: the hard ones, which nothing signed clears."""

    assessment: AssessmentState
    weather: WeatherState
    stops: tuple[str, ...]

    @property
    def reasons(self) -> tuple[str, ...]:
        """Every reason against starting; empty where the walk may start."""
        return (*self.stops, *_of_assessment(self.assessment), *filter(None, [self.weather.stops]))


def readiness_of(walk: Walk, *, now: datetime) -> Readiness:
    """How ready `walk` is to start. Some twenty queries."""
    state = state_of(walk, accounts_in_use(), coming_on(walk, now=now))
    return Readiness(state, weather_of(walk, state.covers, now=now), tuple(hard_stops_of(walk, now=now)))


def hard_stops_of(walk: Walk, *, now: datetime) -> Iterator[str]:
    """What stops a walk whatever anybody signs: permission, cover, the guides' papers, ratio. Some fifteen queries."""
    day = f"{walk.local_date.day} {walk.local_date:%B}"
    yield from against_permission(walk)
    if cover_for(walk) is None:
        yield f"No insurance cover is in force on {day}."
    yield from lost_cover([walk])[walk.pk]
    yield from room_on_the_day(walk, at=now, now=now).statement.refusals


def _of_assessment(state: AssessmentState) -> Iterator[str]:
    if state.word == UNSIGNED:
        yield "The risk assessment is not signed."
    if state.word == STALE:
        facts = ", ".join(dict.fromkeys(one.fact.replace("_", " ") for one in state.open_reasons))
        yield f"The risk assessment is stale ({facts}): sign an addition, or a new version."


@act
def start_walk(walk: Walk, *, by: User, now: datetime) -> WalkStart:
    """Start `walk` over the name of its leading guide. Raises WalkNotStarted with every reason at once.

    Offering, walk, site, permissions and guides are locked in this order: a sale or a changed fact comes either before,
    and is seen here, or after, and then the walk had begun. A second press of the button finds the first start.
    """
    Offering.objects.select_for_update().get(pk=walk.offering_id)
    Walk.objects.select_for_update().get(pk=walk.pk)
    Site.objects.select_for_update().get(pk=walk.site_id)
    list(LandownersPermission.objects.select_for_update().filter(site=walk.site_id).order_by("pk"))
    lock_guides(Guide.objects.filter(walk_guides__walk=walk))
    walk = with_everything(Walk.objects.filter(pk=walk.pk)).get()
    ready = readiness_of(walk, now=now)
    reasons = [*_at_the_gate(walk, by, now), *ready.reasons]
    if reasons:
        raise WalkNotStarted(
            "The walk was not started.",
            why=reasons,
            became="Every booking stands as it was.",
            now="Put these right, or call the walk off.",
        )
    signed, decision = ready.assessment.signed, ready.weather.decision
    assert signed is not None
    assert decision is not None  # without both there are reasons against it
    start = WalkStart.objects.create(
        walk=walk,
        assessment=signed,
        decision=decision,
        started_by=by,
        name=str(by),
        started_at=now,
    )
    record("start walk", walk.offering, by=by, now=now, fields=("start",), reason=f"session {walk.number}")
    return start


def _at_the_gate(walk: Walk, by: User, now: datetime) -> Iterator[str]:
    if WalkStart.objects.filter(walk=walk).exists():
        yield "It is started already."
    if walk.offering.state != Offering.State.PUBLISHED or walk.called_off_at:
        yield "Only a published walk that is not called off starts."
    if now < walk.starts_at - EARLIEST:
        yield "It is too early: a walk starts from two hours before its time on."
    if now >= walk.ends_at:
        yield "Its time is over."
    if not leads(walk, by):
        yield "Only the leading guide starts a walk."
