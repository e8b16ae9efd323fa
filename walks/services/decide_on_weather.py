"""Enter a forecast for a walk, and record what the leading guide decides on it."""

from __future__ import annotations

from datetime import datetime

from foraywright.floor.acts import act, record
from foraywright.floor.models import User
from walks.compute.weather import Forecast, may_decide
from walks.errors import WeatherNotDecided
from walks.models import Walk, WalkForecast, WeatherDecision
from walks.services.add_to_assessment import leads
from walks.weather_state import WeatherState

IN_WORDS = {**dict(WeatherDecision.Decision.choices), "undecided": "Undecided"}


@act
def enter_forecast(walk: Walk, read: Forecast, *, by: User, now: datetime) -> WalkForecast:
    """Keep a forecast as `by` read it. A forecast is never changed: a later one counts from then on."""
    row = WalkForecast.objects.create(
        walk=walk,
        celsius=read.celsius,
        humidity=read.humidity,
        wind_kmh=round(read.wind_kmh, 1),
        gust_kmh=None if read.gust_kmh is None else round(read.gust_kmh, 1),
        lightning=read.lightning,
        ice=read.ice,
        issued_at=read.issued_at,
        source=read.source,
        entered_by=by,
        entered_at=now,
    )
    record("enter forecast", walk.offering, by=by, now=now, fields=("forecast",))
    return row


@act
def decide_on_weather(
    walk: Walk, state: WeatherState, decision: str, *, what_we_do: str, by: User, now: datetime
) -> WeatherDecision:
    """Record the decision of the leading guide on the forecast in `state`. Raises WeatherNotDecided.

    The walk is locked, so that a forecast entered in the same moment is not decided on unread.
    """
    Walk.objects.select_for_update().get(pk=walk.pk)
    why = _reasons_against(walk, state, decision, what_we_do, by)
    if why:
        raise WeatherNotDecided("No decision was recorded.", why=why, now="Decide as the rules do, or more strictly.")
    row = WeatherDecision.objects.create(
        walk=walk,
        forecast=state.forecast,
        rules_say=state.rules.verdict,
        decision=decision,
        what_we_do=what_we_do,
        decided_by=by,
        name=str(by),
        decided_at=now,
    )
    record("decide on weather", walk.offering, by=by, now=now, fields=("decision",), reason=IN_WORDS[decision])
    return row


def _reasons_against(walk: Walk, state: WeatherState, decision: str, what_we_do: str, by: User) -> list[str]:
    why = []
    newest = walk.forecasts.order_by("-entered_at", "-pk").values_list("pk", flat=True).first()
    if newest != (state.forecast.pk if state.forecast else None):
        why.append("Another forecast was entered while you read this one.")
    if not may_decide(decision, state.rules.verdict):
        said = IN_WORDS[state.rules.verdict].lower()
        why.append(f"The rules say “{said}”; a guide may be stricter, never looser.")
    if decision == WeatherDecision.Decision.CONTROLS and not what_we_do.strip():
        why.append("Write which controls you take.")
    if not leads(walk, by):
        why.append("Only the leading guide of the walk decides.")
    return why
