"""How a walk stands with its weather: the newest forecast, what the rules say of it, what the guide decided on it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from walks.compute.risk_group import COVERS
from walks.compute.weather import CALL_OFF, UNDECIDED, Forecast, Ground, Weather, weather
from walks.models import Guide, Walk, WalkForecast, WalkGuide, WeatherDecision

TREES = frozenset(
    {
        "broadleaved_wood",
        "conifer_wood",
        "mixed_wood",
        "wood_edge",
        "wet_wood",
        "park",
        "hedge",
        "orchard",
        "riverside",
        "churchyard",
    }
)
"""Habitats in which the hazard library fears falling branches."""


@dataclass(frozen=True, slots=True)
class WeatherState:
    """The newest forecast, what the rules say now, and the newest decision."""

    forecast: WalkForecast | None
    rules: Weather
    decision: WeatherDecision | None

    @property
    def stops(self) -> str:
        """Why the walk may not start on this weather, in one sentence; "" where it may."""
        if self.rules.verdict == UNDECIDED:
            return f"{self.rules.findings[0].sentence} Undecided is never “go”."
        if self.rules.verdict == CALL_OFF:
            return "The weather rules say: call off."
        if self.decision is None or self.decision.forecast_id != (self.forecast.pk if self.forecast else None):
            return "The leading guide has not decided on the newest forecast."
        return "The guide decided to call off." if self.decision.decision == CALL_OFF else ""


def weather_of(walk: Walk, covers: str, *, now: datetime) -> WeatherState:
    """How `walk` stands with its weather, `covers` being whom its assessment is for. Two queries.

    A decision is its guide's own: where somebody else leads by now, nobody has decided yet.
    """
    forecast = walk.forecasts.order_by("-entered_at", "-pk").first()
    rules = weather(as_read(forecast) if forecast else None, ground_of(walk, covers), now=now)
    leading = Guide.objects.filter(walk_guides__walk=walk, walk_guides__role=WalkGuide.Role.LEADS)
    decided = walk.weather_decisions.filter(decided_by__in=leading.values("user"))
    return WeatherState(forecast, rules, decided.order_by("-decided_at", "-pk").first())


def ground_of(walk: Walk, covers: str) -> Ground:
    """What of the walk makes weather worse. A site without habitats is read as a wood."""
    assert covers in COVERS
    return Ground(
        trees=not walk.site.habitats or bool(TREES & set(walk.site.habitats)), young_children=covers != "adults"
    )


def as_read(row: WalkForecast) -> Forecast:
    """The forecast of a row as the rules take it."""
    return Forecast(
        celsius=float(row.celsius),
        humidity=None if row.humidity is None else float(row.humidity),
        wind_kmh=float(row.wind_kmh),
        gust_kmh=None if row.gust_kmh is None else float(row.gust_kmh),
        lightning=row.lightning,
        ice=row.ice,
        issued_at=row.issued_at,
        source=row.source,
    )
