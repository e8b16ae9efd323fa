"""Steps towards a walk that may start, for the tests of the risk pages and acts."""

from __future__ import annotations

from datetime import datetime, timedelta

from bookings.coming import coming_on
from curriculum.queries import accounts_in_use
from foraywright.floor.models import User
from tests.cast import World
from walks.assessment_state import AssessmentState, state_of
from walks.compute.weather import Forecast
from walks.models import SignedAssessment, Site, Walk, WeatherDecision
from walks.queries import with_everything
from walks.services.decide_on_weather import decide_on_weather, enter_forecast
from walks.services.sign_assessment import Signature, sign_assessment
from walks.weather_state import weather_of


def the_walk(world: World) -> Walk:
    return with_everything(Walk.objects.filter(offering=world.offering)).get()


def gwen(world: World) -> User:
    assert world.gwen.user is not None
    return world.gwen.user


def state(world: World, *, now: datetime) -> AssessmentState:
    walk = the_walk(world)
    return state_of(walk, accounts_in_use(), coming_on(walk, now=now))


def sign(world: World, *, now: datetime) -> SignedAssessment:
    """Gwen signs the draft as it stands."""
    walk = the_walk(world)
    signature = Signature("leading guide", state(world, now=now).mark)
    return sign_assessment(walk, signature, coming_on(walk, now=now), by=gwen(world), now=now)


def mild(now: datetime, **changes: object) -> Forecast:
    values = {
        "celsius": 14.0,
        "humidity": 70,
        "wind_kmh": 10.0,
        "gust_kmh": 20.0,
        "lightning": False,
        "ice": "none",
        "issued_at": now - timedelta(hours=1),
        "source": "the national forecast",
    }
    return Forecast(**(values | changes))  # type: ignore[arg-type]


def decide(world: World, decision: str = "go", *, now: datetime, **changes: object) -> WeatherDecision:
    """Gwen enters a forecast and decides on it."""
    walk = the_walk(world)
    enter_forecast(walk, mild(now, **changes), by=gwen(world), now=now)
    seen = weather_of(walk, "everybody", now=now)
    return decide_on_weather(walk, seen, decision, what_we_do="Keep to the open.", by=gwen(world), now=now)


def add_cattle() -> None:
    """A fact that adds hazards."""
    Site.objects.update(hazards=["cattle"])
