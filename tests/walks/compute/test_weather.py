"""Weather rules: at each limit, what is not known, what is too old, and what a guide may decide."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from walks.compute.weather import (
    CALL_OFF,
    CONTROLS,
    GO,
    KMH_A_MILE,
    NEVER_OLDER,
    UNDECIDED,
    VERDICTS,
    Forecast,
    Ground,
    may_decide,
    out_again_at,
    weather,
)
from walks.compute.weather_index import heat_index, to_celsius, to_fahrenheit, wind_chill

NOW = datetime(2026, 10, 3, 8, 0, tzinfo=UTC)
MILD = Forecast(14, 70, 10, 20, False, "none", NOW - timedelta(hours=1), "the national forecast")
WOOD, OPEN = Ground(trees=True, young_children=False), Ground(trees=False, young_children=False)
FAMILIES = Ground(trees=True, young_children=True)


def verdict(ground: Ground = WOOD, **changes: object) -> str:
    return weather(replace(MILD, **changes), ground, now=NOW).verdict  # type: ignore[arg-type]


def of_rule(rule: str, ground: Ground = WOOD, **changes: object) -> str:
    found = weather(replace(MILD, **changes), ground, now=NOW).findings  # type: ignore[arg-type]
    return next(one.verdict for one in found if one.rule == rule)


def test_a_mild_day_goes() -> None:
    assert verdict() == GO


@pytest.mark.parametrize(
    ("age", "expected"), [(timedelta(hours=12), GO), (timedelta(hours=12, seconds=1), UNDECIDED), (timedelta(0), GO)]
)
def test_a_forecast_older_than_twelve_hours_decides_nothing(age: timedelta, expected: str) -> None:
    assert verdict(issued_at=NOW - age) == expected


def test_no_forecast_or_one_from_the_future_decides_nothing() -> None:
    assert weather(None, WOOD, now=NOW).verdict == UNDECIDED
    assert verdict(issued_at=NOW + timedelta(hours=1)) == UNDECIDED


@pytest.mark.parametrize(
    ("ground", "mph", "expected"),
    [
        (WOOD, 39.9, GO),
        (WOOD, 40, CALL_OFF),
        (OPEN, 39.9, GO),
        (OPEN, 40, CONTROLS),
        (OPEN, 54.9, CONTROLS),
        (OPEN, 55, CALL_OFF),
    ],
)
def test_gusts(ground: Ground, mph: float, expected: str) -> None:
    assert of_rule("gusts", ground, gust_kmh=mph * KMH_A_MILE) == expected


@pytest.mark.parametrize("ground", [WOOD, OPEN])
def test_gusts_that_nobody_gives_call_for_controls_and_are_never_below_the_mean(ground: Ground) -> None:
    assert verdict(ground, gust_kmh=None) == CONTROLS
    assert verdict(OPEN, gust_kmh=None, wind_kmh=54.9 * KMH_A_MILE) == CONTROLS
    assert verdict(OPEN, gust_kmh=None, wind_kmh=55 * KMH_A_MILE) == CALL_OFF
    assert verdict(OPEN, gust_kmh=0, wind_kmh=55 * KMH_A_MILE) == CALL_OFF


@pytest.mark.parametrize(("ms", "expected"), [(10.79, GO), (10.8, CONTROLS), (13.89, CONTROLS), (13.9, CALL_OFF)])
def test_mean_wind_counts_under_trees(ms: float, expected: str) -> None:
    assert of_rule("wind", wind_kmh=ms * 3.6) == expected
    assert verdict(OPEN, wind_kmh=ms * 3.6) == GO


def test_thunder_in_the_forecast_calls_off() -> None:
    assert verdict(lightning=True) == CALL_OFF


def test_each_thunder_starts_the_half_hour_again() -> None:
    assert out_again_at(NOW) == NOW + timedelta(minutes=30)


@pytest.mark.parametrize(
    ("ground", "celsius", "expected"),
    [
        (WOOD, 0.1, GO),
        (WOOD, 0, CONTROLS),
        (WOOD, -27.9, CONTROLS),
        (WOOD, -28, CALL_OFF),
        (FAMILIES, -9.9, CONTROLS),
        (FAMILIES, -10, CALL_OFF),
    ],
)
def test_cold_in_still_air(ground: Ground, celsius: float, expected: str) -> None:
    assert of_rule("wind chill", ground, celsius=celsius, wind_kmh=0) == expected


@pytest.mark.parametrize(
    ("ground", "fahrenheit", "expected"),
    [
        (WOOD, 79, GO),
        (WOOD, 82, CONTROLS),
        (WOOD, 96, CONTROLS),
        (WOOD, 98, CALL_OFF),
        (FAMILIES, 88, CONTROLS),
        (FAMILIES, 90, CALL_OFF),
    ],
)
def test_heat_at_forty_per_cent(ground: Ground, fahrenheit: float, expected: str) -> None:
    assert of_rule("heat index", ground, celsius=to_celsius(fahrenheit), humidity=40) == expected


def test_unknown_humidity_is_read_as_saturated_and_says_nothing_where_that_cannot_matter() -> None:
    assert of_rule("heat index", celsius=30, humidity=None) == of_rule("heat index", celsius=30, humidity=100)
    assert "heat index" not in {one.rule for one in weather(replace(MILD, humidity=None), WOOD, now=NOW).findings}
    assert heat_index(69.9, 100) < 80


@pytest.mark.parametrize(
    ("ice", "celsius", "expected"),
    [("none", 3.1, GO), ("none", 3, CONTROLS), ("patches", 8, CONTROLS), ("everywhere", 8, CALL_OFF)],
)
def test_ice(ice: str, celsius: float, expected: str) -> None:
    assert of_rule("ice", ice=ice, celsius=celsius) == expected


def test_the_worst_verdict_counts() -> None:
    assert verdict(ice="patches", gust_kmh=80) == CALL_OFF
    assert verdict(ice="patches") == CONTROLS


def test_a_guide_may_be_stricter_and_never_looser() -> None:
    allowed = {(d, v) for d in VERDICTS for v in (*VERDICTS, UNDECIDED) if may_decide(d, v)}
    assert allowed == {
        (GO, GO),
        (CONTROLS, GO),
        (CONTROLS, CONTROLS),
        (CALL_OFF, GO),
        (CALL_OFF, CONTROLS),
        (CALL_OFF, CALL_OFF),
        (CALL_OFF, UNDECIDED),
    }


def test_the_twelve_hours_are_half_a_day() -> None:
    assert timedelta(hours=12) == NEVER_OLDER


def test_the_wet_and_the_dry_adjustment() -> None:
    """The equation of the Weather Prediction Center worked by hand: the wet one adds 0.1, the dry one subtracts."""
    assert heat_index(86, 90) == pytest.approx(105.39, abs=0.01)
    assert heat_index(100, 10) == pytest.approx(94.12, abs=0.01)


def test_wind_chill_meets_its_low_branch_and_stops_in_warm_air() -> None:
    assert wind_chill(-10, 4.99) == pytest.approx(wind_chill(-10, 5), abs=0.5)
    assert wind_chill(-10, 0) == -10
    assert wind_chill(10.1, 50) == 10.1
    assert to_fahrenheit(to_celsius(50)) == pytest.approx(50)


@given(
    celsius=st.floats(-30, 10),
    wind=st.floats(5, 120),
    more=st.floats(0, 40),
)
def test_more_wind_never_feels_warmer(celsius: float, wind: float, more: float) -> None:
    assert wind_chill(celsius, wind + more) <= wind_chill(celsius, wind) + 1e-9
