"""Blurred places: the true one lies within the uncertainty, and those of one cell look alike."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pyproj import Geod

from walks.compute.blurring import Blurred, blurred

EARTH = Geod(ellps="WGS84")


@given(st.floats(-88, 88), st.floats(-179, 179), st.sampled_from([10, 100, 1000, 10_000]))
def test_law_the_true_place_lies_within(latitude: float, longitude: float, metres: int) -> None:
    told = blurred(latitude, longitude, metres)
    _, _, off = EARTH.inv(longitude, latitude, told.longitude, told.latitude)
    assert off <= told.uncertainty_m + 0.2  # six places of a degree are within 0.1 m


@given(st.floats(-60, 60), st.floats(-179, 179), st.floats(-0.3, 0.3), st.floats(-0.3, 0.3))
def test_law_whatever_lies_in_the_cell_is_told_alike(lat: float, lon: float, north: float, east: float) -> None:
    told = blurred(lat, lon, 1000)
    there = blurred(told.latitude + north / 111.2, told.longitude + east / 111.4, 1000)
    assert there == told


def test_a_kilometre_in_the_new_forest() -> None:
    assert blurred(50.9316, -1.45, 1000) == Blurred(50.933009, -1.448379, 715)
    assert blurred(50.9316, -1.45, 10).uncertainty_m == 8


@pytest.mark.parametrize(("lat", "lon", "metres"), [(50, 0, 9), (50, 0, 10_001), (89.5, 0, 1000), (50, 181, 1000)])
def test_what_cannot_be_blurred(lat: float, lon: float, metres: int) -> None:
    with pytest.raises(ValueError, match="blurred"):
        blurred(lat, lon, metres)
