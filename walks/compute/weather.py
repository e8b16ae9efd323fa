"""Whether the weather that a forecast tells lets a walk go: go, go with controls, or call off.

Definition: each rule gives its verdict with the figure and its source; the worst verdict counts. Without a forecast, or
with one issued more than 12 hours ago, nothing is decided, and undecided is never "go" (our rule). What is not entered
is read as the worst that it may be. The rules bind from below only: a guide may always be stricter.
It must not be taken for the weather in the wood: what is seen there comes first.

Limits (temperatures as felt in °C, winds in km/h):
    wind chill   controls from 0 down (common practice, no source); call off from −28 down, where bare skin can freeze
                 in 10 to 30 minutes (Environment Canada, wind chill hazards); with young children from −10 down, where
                 long stays bring a risk of hypothermia (same source; that it ends a children's walk is our rule)
    heat index   controls from 80 °F (caution), call off from 103 °F (danger); with young children from 90 °F
                 (extreme caution): bands of the National Weather Service, from memory; what follows is our rule
    wind, trees  controls from Beaufort 6 (10.8 m/s), call off from Beaufort 7 (13.9 m/s) or gusts of 40 miles an hour
                 (common practice, no source); in the open controls from gusts of 40, call off from 55 (our rule)
    lightning    forecast for the hours of the walk: call off; heard: 30 minutes after the last thunder (Ramblers,
                 "Thunder and lightning")
    ice          controls from 3 °C down or with patches; call off where the ground is iced over (common practice,
                 no source)
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from walks.compute.weather_index import heat_index, to_celsius, to_fahrenheit, wind_chill

UNDECIDED, GO, CONTROLS, CALL_OFF = "undecided", "go", "controls", "call_off"
VERDICTS = (GO, CONTROLS, CALL_OFF)
"""From the mildest on; "undecided" stands beside them and lets nothing go."""
NEVER_OLDER = timedelta(hours=12)
AFTER_THUNDER = timedelta(minutes=30)
KMH_A_MILE = 1.609344
KMH_OF = {"mph": KMH_A_MILE, "km/h": 1.0, "m/s": 3.6, "knots": 1.852}
BEAUFORT_6, BEAUFORT_7 = 10.8 * 3.6, 13.9 * 3.6
GUST_IN_WOODLAND, GUST_ANYWHERE = 40 * KMH_A_MILE, 55 * KMH_A_MILE
COLD, FREEZING_SKIN, COLD_FOR_CHILDREN = 0.0, -28.0, -10.0
CAUTION, EXTREME_CAUTION, DANGER = 80.0, 90.0, 103.0
ICE_POSSIBLE = 3.0
PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True)
class Forecast:
    """What a person has read in a forecast for the place and hours of the walk. None = it does not say.

    Winds in km/h, the mean at 10 m and the gusts; `ice`: "none", "patches" or "everywhere" on the ground.
    """

    celsius: float
    humidity: float | None
    wind_kmh: float
    gust_kmh: float | None
    lightning: bool
    ice: str
    issued_at: datetime
    source: str


@dataclass(frozen=True, slots=True)
class Ground:
    """What of the walk makes weather worse: whether it goes under trees, whether young children may come."""

    trees: bool
    young_children: bool


@dataclass(frozen=True, slots=True)
class Finding:
    """What one rule says: its verdict, the figure in words, what follows, and where the limit comes from."""

    rule: str
    verdict: str
    sentence: str
    source: str


@dataclass(frozen=True, slots=True)
class Weather:
    """The verdict of all rules together, and what each of them found."""

    verdict: str
    findings: tuple[Finding, ...]


def weather(forecast: Forecast | None, ground: Ground, *, now: datetime) -> Weather:
    """What the rules say at `now` of a walk on this ground."""
    stale = _undecided(forecast, now)
    if forecast is None or stale:
        return Weather(UNDECIDED, (Finding("forecast", UNDECIDED, stale, "our rule"),))
    findings = (
        _lightning(forecast),
        *_wind(forecast, ground),
        _cold(forecast, ground),
        *_heat(forecast, ground),
        _ice(forecast),
    )
    return Weather(max((one.verdict for one in findings), key=VERDICTS.index), findings)


def _undecided(forecast: Forecast | None, now: datetime) -> str:
    if forecast is None:
        return "No forecast has been entered."
    age = now - forecast.issued_at
    if age > NEVER_OLDER:
        return f"The forecast was issued {_hours(age)} ago; older than 12 hours it decides nothing."
    return "The forecast says that it was issued in the future." if age < -timedelta(minutes=15) else ""


def _hours(age: timedelta) -> str:
    return f"{age.total_seconds() / 3600:.0f} hours"


def may_decide(decision: str, verdict: str) -> bool:
    """Whether a guide may decide so: as strictly as the rules or more strictly; while undecided, only to call off."""
    if verdict == UNDECIDED:
        return decision == CALL_OFF
    return VERDICTS.index(decision) >= VERDICTS.index(verdict)


def out_again_at(last_thunder: datetime) -> datetime:
    """When a group that sought shelter may leave it: 30 minutes after the last thunder; new thunder starts it again."""
    return last_thunder + AFTER_THUNDER


def _lightning(forecast: Forecast) -> Finding:
    source = "The Ramblers, Thunder and lightning"
    if forecast.lightning:
        return Finding(
            "lightning", CALL_OFF, "Thunder is forecast for the hours of the walk: move it or call off.", source
        )
    later = "No thunder is forecast. If it is heard: to shelter at once, out 30 minutes after the last of it."
    return Finding("lightning", GO, later, source)


def _wind(forecast: Forecast, ground: Ground) -> Iterator[Finding]:
    if ground.trees:
        yield _mean_wind(forecast.wind_kmh)
    yield _gusts(max(forecast.gust_kmh or 0.0, forecast.wind_kmh), ground)
    if forecast.gust_kmh is None:
        unknown = "The forecast gives no gusts: read the wind in the tree-tops, and stay out of woodland if it rises."
        yield Finding("gusts not known", CONTROLS, unknown, PRACTICE)


def _mean_wind(kmh: float) -> Finding:
    force = "7 or more" if kmh >= BEAUFORT_7 else "6" if kmh >= BEAUFORT_6 else "below 6"
    verdict = CALL_OFF if kmh >= BEAUFORT_7 else CONTROLS if kmh >= BEAUFORT_6 else GO
    does = {
        CALL_OFF: "the group stays out of woodland",
        CONTROLS: "no stops under dead, leaning or hung-up trees; review the route",
        GO: "no limit under trees is reached",
    }
    return Finding("wind", verdict, f"Mean wind {_mph(kmh)}, Beaufort {force}: {does[verdict]}.", PRACTICE)


def _gusts(kmh: float, ground: Ground) -> Finding:
    if kmh >= GUST_ANYWHERE or (ground.trees and kmh >= GUST_IN_WOODLAND):
        where = "woodland is left alone" if ground.trees else "people are blown off their feet"
        return Finding("gusts", CALL_OFF, f"Gusts of {_mph(kmh)}: {where}.", PRACTICE)
    if kmh >= GUST_IN_WOODLAND:
        return Finding("gusts", CONTROLS, f"Gusts of {_mph(kmh)}: keep off edges and ridges.", PRACTICE)
    return Finding("gusts", GO, f"Gusts of {_mph(kmh)}: below the limit of 40 mph.", PRACTICE)


def _mph(kmh: float) -> str:
    return f"{kmh / KMH_A_MILE:.0f} mph"


def _cold(forecast: Forecast, ground: Ground) -> Finding:
    felt = wind_chill(forecast.celsius, forecast.wind_kmh)
    limit = COLD_FOR_CHILDREN if ground.young_children else FREEZING_SKIN
    verdict = CALL_OFF if felt <= limit else CONTROLS if felt <= COLD else GO
    does = {
        CALL_OFF: f"at or below {limit:.0f} this walk is not held",
        CONTROLS: "look at clothing at the start, keep moving, carry a shelter and spare layers",
        GO: "no limit for cold is reached",
    }
    sentence = (
        f"Wind chill {felt:.0f} (air {forecast.celsius:.0f} °C, wind {_mph(forecast.wind_kmh)}): {does[verdict]}."
    )
    return Finding(
        "wind chill", verdict, sentence, "Environment Canada, wind chill index and hazards; limits: our rule"
    )


def _heat(forecast: Forecast, ground: Ground) -> Iterator[Finding]:
    source = "National Weather Service, heat index (bands from memory); limits: our rule"
    fahrenheit = to_fahrenheit(forecast.celsius)
    if forecast.humidity is None and fahrenheit < CAUTION - 10:
        return  # Below 70 °F even saturated air stays under the first band.
    felt = heat_index(fahrenheit, 100.0 if forecast.humidity is None else forecast.humidity)
    limit = EXTREME_CAUTION if ground.young_children else DANGER
    verdict = CALL_OFF if felt >= limit else CONTROLS if felt >= CAUTION else GO
    does = {
        CALL_OFF: f"from {to_celsius(limit):.0f} °C felt this walk is not held",
        CONTROLS: "shade, water for everybody, a shorter route",
        GO: "no limit for heat is reached",
    }
    yield Finding("heat index", verdict, f"Heat index {to_celsius(felt):.0f} °C: {does[verdict]}.", source)


def _ice(forecast: Forecast) -> Finding:
    if forecast.ice == "everywhere":
        return Finding("ice", CALL_OFF, "The ground is iced over: nobody walks on it.", PRACTICE)
    if forecast.ice == "patches" or forecast.celsius <= ICE_POSSIBLE:
        walk = "Ice is possible or reported: test the meeting point, steps and bridges first; go round what is glazed."
        return Finding("ice", CONTROLS, walk, PRACTICE)
    return Finding("ice", GO, "No ice is reported, and the air is too warm for new ice.", PRACTICE)
