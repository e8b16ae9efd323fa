"""Laws of routes: distance, climbing, legs; and of walking time."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.walks.compute.gpx_cases import START, round_walk
from walks.compute.routes import LEG_M, THRESHOLD_M, Point, Route, metres_between, smoothed, ups_and_downs
from walks.compute.walking_time import Leg, Margins, group_minutes, moving_minutes, naismith_minutes, tobler_minutes

METRES_A_DEGREE = 111_200
heights = st.lists(st.floats(-100, 1000), min_size=1, max_size=60)
steps = st.lists(
    st.tuples(st.floats(-1e-3, 1e-3), st.floats(-1e-3, 1e-3), st.floats(0, 400)), min_size=2, max_size=60, unique=True
)


def route_of(offsets: list[tuple[float, float, float]]) -> Route:
    return Route(tuple(Point(START[0] + a, START[1] + b, h) for a, b, h in offsets))


def slope(length: int, rise: float) -> Route:
    """Due north for `length` metres in steps of 10 m, rising evenly by `rise` metres in all."""
    count = length // 10
    return route_of([(n * 10 / METRES_A_DEGREE, 0.0, 100 + rise * n / count) for n in range(count + 1)])


def haversine(one: Point, other: Point) -> float:
    """On a sphere, by hand: within half a per cent of the ellipsoid."""
    a, b = math.radians(one.latitude), math.radians(other.latitude)
    turn = math.radians(other.longitude - one.longitude)
    chord = math.sin((b - a) / 2) ** 2 + math.cos(a) * math.cos(b) * math.sin(turn / 2) ** 2
    return 2 * 6_371_009 * math.asin(math.sqrt(chord))


@given(steps)
def test_distance_agrees_with_a_sphere_and_does_not_mind_the_direction(
    offsets: list[tuple[float, float, float]],
) -> None:
    route, back = route_of(offsets), route_of(offsets[::-1])
    on_a_sphere = sum(haversine(one, other) for one, other in pairwise(route.points))
    assert route.distance_m == pytest.approx(on_a_sphere, rel=0.006, abs=1e-3)
    assert route.distance_m == pytest.approx(back.distance_m)
    assert list(route.along) == sorted(route.along)
    assert route.distance_m >= metres_between(route.points[0], route.points[-1]) - 1e-6


@given(heights)
def test_climbing_and_falling_make_up_the_difference(found: list[float]) -> None:
    up, down = ups_and_downs(found)
    assert up >= 0
    assert down >= 0
    assert abs((up - down) - (found[-1] - found[0])) <= 2 * THRESHOLD_M


@given(heights)
def test_what_is_climbed_one_way_is_fallen_the_other(found: list[float]) -> None:
    whole = [float(round(one)) for one in found]
    assert ups_and_downs(whole[::-1]) == ups_and_downs(whole)[::-1]


@given(heights, st.integers(-50, 50))
def test_climbing_does_not_mind_where_the_sea_is(found: list[float], sea: int) -> None:
    whole = [float(round(one)) for one in found]
    assert ups_and_downs([one + sea for one in whole]) == ups_and_downs(whole)


@given(st.lists(st.floats(-2.4, 2.4), min_size=2, max_size=50))
def test_a_wander_below_the_threshold_is_no_climb(wander: list[float]) -> None:
    assert ups_and_downs([100 + one for one in wander]) == (0, 0)


def test_climbing_is_counted_from_the_threshold_on() -> None:
    assert ups_and_downs([100, 104.99, 100]) == (0, 0)
    assert ups_and_downs([100, 105, 100]) == (5, 5)
    assert ups_and_downs([100, 103, 107, 103, 99]) == (7, 8)
    assert ups_and_downs([100, 97, 110, 107, 112]) == (15, 0)


@given(steps)
def test_averaging_stays_between_the_heights_and_keeps_the_ends(offsets: list[tuple[float, float, float]]) -> None:
    route = route_of(offsets)
    raw = [one.height or 0.0 for one in route.points]
    averaged = smoothed(route.along, raw)
    assert min(raw) - 1e-9 <= min(averaged)
    assert max(averaged) <= max(raw) + 1e-9


def test_a_steady_slope_stays_what_it_is() -> None:
    route = slope(1000, 100)
    assert route.climbs is not None
    assert route.climbs[0] == pytest.approx(100)
    assert route.climbs[1] == 0
    assert route.heights == pytest.approx([one.height for one in route.points], abs=1e-6)


def test_a_spike_of_the_device_is_averaged_away() -> None:
    spiked = [
        (a, b, h + (20 if n == 50 else 0))
        for n, (a, b, h) in enumerate((p * 10 / METRES_A_DEGREE, 0.0, 100.0) for p in range(101))
    ]
    assert route_of(spiked).climbs == (0, 0)


@given(steps)
def test_legs_share_the_whole_way_and_the_whole_rise(offsets: list[tuple[float, float, float]]) -> None:
    route = route_of(offsets)
    assert route.heights is not None
    assert sum(one.run for one in route.legs) == pytest.approx(route.distance_m)
    assert sum(one.rise for one in route.legs) == pytest.approx(route.heights[-1] - route.heights[0], abs=1e-6)
    assert all(one.run > 0 for one in route.legs)
    assert all(one.run <= 1.5 * LEG_M + 1e-6 for one in route.legs)


def test_times_of_a_hill_up_and_down() -> None:
    """1 km at one in ten: 12 min and 10 min for 100 m; down at 5.7 degrees, 3 min 20 s less."""
    assert naismith_minutes(slope(1000, 100).legs) == pytest.approx(22, abs=0.1)
    assert naismith_minutes(slope(1000, -100).legs) == pytest.approx(12 - 100 / 30, abs=0.1)
    assert tobler_minutes(slope(1000, 100).legs) == pytest.approx(60 / 3.549, abs=0.1)


legs = st.lists(st.builds(Leg, st.floats(20, 75), st.floats(-30, 30)), min_size=1, max_size=40)


@given(legs, legs)
def test_times_add_up_and_are_never_below_nothing(first: list[Leg], then: list[Leg]) -> None:
    for rule in (naismith_minutes, tobler_minutes):
        assert rule(first + then) == pytest.approx(rule(first) + rule(then))
        assert rule(first) > 0


@given(legs, st.floats(1, 3), st.floats(1, 3), st.floats(0, 60))
def test_margins_never_make_it_shorter(found: list[Leg], group: float, children: float, stops: float) -> None:
    margins = Margins(group, children, stops)
    alone, along = (group_minutes(found, margins, children=one) for one in (False, True))
    assert moving_minutes(found) <= alone + 1e-6
    assert alone <= along
    assert moving_minutes(found) >= max(naismith_minutes(found), tobler_minutes(found)) - 1e-9


def test_margins_by_hand() -> None:
    """5 km on the flat: 60 min by Naismith, 59.6 by Tobler; a quarter more, and 20 min of stops a kilometre."""
    flat = [Leg(50, 0)] * 100
    assert group_minutes(flat, Margins(1.25, 1.3, 20), children=False) == 175
    assert group_minutes(flat, Margins(1.25, 1.3, 20), children=True) == 198


def test_the_ring_of_the_cases() -> None:
    route = Route(tuple(Point(*one) for one in round_walk()))
    assert route.distance_m == pytest.approx(2 * math.pi * 0.004 * 111_200, rel=0.03)
    assert route.climbs == pytest.approx((20, 20), abs=0.5)
