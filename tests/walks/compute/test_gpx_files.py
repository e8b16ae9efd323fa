"""GPX files: what is read, what is left behind, and everything that is refused, fast and with its reason."""

from __future__ import annotations

from time import perf_counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.walks.compute.gpx_cases import REFUSED, TWO, gpx, point, round_walk, round_walk_gpx, track
from walks.compute.gpx_files import GpxRefused, cleaned_gpx, route_from_gpx

SECONDS = 3.0


def test_a_track_is_read_in_its_order() -> None:
    route = route_from_gpx(round_walk_gpx())
    wanted = [(round(a, 6), round(b, 6), round(h, 1)) for a, b, h in round_walk()]
    assert [(one.latitude, one.longitude, one.height) for one in route.points] == wanted


@pytest.mark.parametrize(
    "content",
    [
        gpx(f"<rte>{''.join(one.replace('trkpt', 'rtept') for one in TWO)}</rte>"),
        gpx(f"<trk><trkseg>{TWO[0]}</trkseg><trkseg>{TWO[1]}</trkseg></trk>"),
        gpx(point(1, 1, tag="wpt"), track([]), track(TWO)),
        gpx(track(TWO)).replace(b"GPX/1/1", b"GPX/1/0").replace(b'version="1.1"', b'version="1.0"'),
        gpx(track(TWO)).replace(b' xmlns="http://www.topografix.com/GPX/1/1"', b""),
        b"\xef\xbb\xbf" + gpx(track(TWO)),
        gpx(track(TWO)).decode().replace("UTF-8", "UTF-16").encode("utf-16"),
        gpx(track(TWO)).replace(b"<gpx ", b'<g:gpx xmlns:g="urn:g" ').replace(b"</gpx>", b"</g:gpx>"),
    ],
    ids=["route", "two segments", "empty track beside", "1.0", "no namespace", "byte order mark", "UTF-16", "prefix"],
)  # fmt: skip
def test_other_ways_of_writing_the_same(content: bytes) -> None:
    assert [(one.latitude, one.height) for one in route_from_gpx(content).points] == [(50.9316, 10), (50.9326, 20)]


def test_a_point_without_height_is_kept_without() -> None:
    route = route_from_gpx(gpx(track([TWO[0], point(50.9326, -1.45)])))
    assert [one.height for one in route.points] == [10, None]
    assert route.climbs is None


@pytest.mark.parametrize("name", REFUSED)
def test_what_is_refused_is_refused_fast_and_says_why(name: str) -> None:
    content, why = REFUSED[name]
    start = perf_counter()
    with pytest.raises(GpxRefused) as refused:
        route_from_gpx(content)
    assert why in str(refused.value)
    assert perf_counter() - start < SECONDS


def test_the_cleaned_file_tells_nothing_of_anybody() -> None:
    file = cleaned_gpx(route_from_gpx(round_walk_gpx()), "The usual way")
    assert "Brown" not in file
    assert "2026" not in file
    assert "<time>" not in file
    assert "The usual way" in file
    assert route_from_gpx(file.encode()) == route_from_gpx(round_walk_gpx())


@given(st.binary(max_size=400))
@settings(max_examples=200)
def test_no_bytes_bring_it_down(content: bytes) -> None:
    with pytest.raises(GpxRefused):
        route_from_gpx(content)


@given(st.integers(0, 900), st.integers(0, 255))
def test_a_damaged_file_is_read_or_refused(place: int, byte: int) -> None:
    content = bytearray(round_walk_gpx())
    content[place] = byte
    try:
        read = len(route_from_gpx(bytes(content)).points)
    except GpxRefused:
        return
    assert read > 1
