"""Drawings of a route: everything inside the paper, true to scale, north up, well-formed."""

from __future__ import annotations

import math
import re

import pytest
from defusedxml.ElementTree import fromstring
from hypothesis import given
from hypothesis import strategies as st

from tests.walks.compute.gpx_cases import START, round_walk
from walks.compute.route_drawing import FOOT, WIDTH, on_plane, paper_for, route_svg
from walks.compute.route_profile import height_lines, profile_svg
from walks.compute.routes import Point, Route, metres_between
from walks.compute.svg_parts import nice_length

MEETING = Point(*START)
RING = Route(tuple(Point(*one) for one in round_walk()))
places = st.builds(
    Point, st.floats(START[0] - 0.02, START[0] + 0.02), st.floats(START[1] - 0.02, START[1] + 0.02), st.floats(0, 300)
)
routes = st.lists(places, min_size=2, max_size=30, unique=True).map(lambda points: Route(tuple(points)))


@given(routes, places)
def test_the_way_and_the_meeting_point_lie_on_the_paper(route: Route, meeting: Point) -> None:
    paper = paper_for([*route.points, meeting])
    for one in (*route.points, meeting):
        x, y = paper.at(one)
        assert 0 <= x <= WIDTH
        assert 0 <= y <= paper.height - FOOT


@given(places, places)
def test_it_is_true_to_scale(one: Point, other: Point) -> None:
    east, north = on_plane(one, other)
    assert math.hypot(east, north) == pytest.approx(metres_between(one, other), rel=2e-3, abs=0.01)


def test_north_is_up_and_east_is_right() -> None:
    paper = paper_for(RING.points)
    (x, y), (_, higher), (further, _) = (
        paper.at(one) for one in (MEETING, Point(START[0] + 0.001, START[1]), Point(START[0], START[1] + 0.001))
    )
    assert higher < y
    assert further > x


def test_the_scale_bar_is_as_long_as_it_says() -> None:
    svg = route_svg(RING, MEETING, "The ring")
    long, words = re.search(r'h([\d.]+) v-5".*?>([\d.]+) m</text>', svg).groups()  # type: ignore[union-attr]
    assert float(long) / paper_for(RING.points).scale == pytest.approx(float(words), rel=0.01)


@given(routes)
def test_drawings_are_well_formed_and_say_what_they_are(route: Route) -> None:
    for svg in (route_svg(route, MEETING, "A <way> & back"), profile_svg(route, "A <way> & back")):
        root = fromstring(svg)
        assert root.get("aria-label") == "A <way> & back"
        assert "nan" not in svg
        assert " style=" not in svg


@given(st.lists(st.floats(-100, 3000), min_size=1, max_size=20))
def test_the_lines_of_a_profile_hold_all_heights(heights: list[float]) -> None:
    lines = height_lines(heights)
    assert lines[0] <= min(heights) + 1e-9
    assert max(heights) <= lines[-1] + 1e-9
    assert 3 <= len(lines) <= 7


def test_no_profile_without_heights() -> None:
    assert profile_svg(Route((Point(50, -1), Point(50.001, -1))), "x") == ""


@given(st.floats(0.001, 1e6))
def test_a_nice_length_is_near_below(most: float) -> None:
    assert most / 2.5 - 1e-9 <= nice_length(most) <= most * (1 + 1e-9)
