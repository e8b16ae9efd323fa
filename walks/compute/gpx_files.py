"""Recorded routes from GPX files (GPX 1.0 and 1.1), and the cleaned file that is kept.

A file comes from a stranger's device: it is vetted by defusedxml first, with every document type refused (entities,
external and recursive ones, live in there), then only positions and heights are taken over. Times, names of people,
devices and extensions stay behind.
"""

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from xml.etree.ElementTree import Element, ParseError, SubElement, tostring

import gpxpy
import gpxpy.gpx
from defusedxml.common import DefusedXmlException
from defusedxml.ElementTree import fromstring

from walks.compute.routes import Point, Route, metres_between

MOST_BYTES = 5 * 1024 * 1024
MOST_POINTS = 20_000
LONGEST_STEP_M = 3_000
LONGEST_ROUTE_M = 60_000
HEIGHTS_M = (-450.0, 9000.0)
WAYS = (("trk", "trkpt"), ("rte", "rtept"))


class GpxRefused(ValueError):
    """The file is no route that can be kept; the text says why, in a sentence."""


def route_from_gpx(content: bytes) -> Route:
    """The one track of the file, else its one route. Raises GpxRefused."""
    if len(content) > MOST_BYTES:
        raise GpxRefused(f"It has {len(content) / 1024 / 1024:.1f} MB; up to {MOST_BYTES // 1024 // 1024} MB are read.")
    bare = _bare(_vetted(content))
    try:
        read = gpxpy.parse(tostring(bare, encoding="unicode"), version="1.1")
    except gpxpy.gpx.GPXException as fault:
        raise GpxRefused("A position in it is no number.") from fault
    points = [point for track in read.tracks for segment in track.segments for point in segment.points]
    return _checked([Point(one.latitude, one.longitude, one.elevation) for one in points])


def cleaned_gpx(route: Route, name: str) -> str:
    """The route as a GPX 1.1 file with positions and heights alone."""
    segment = gpxpy.gpx.GPXTrackSegment()
    segment.points = [
        gpxpy.gpx.GPXTrackPoint(one.latitude, one.longitude, elevation=one.height) for one in route.points
    ]
    track = gpxpy.gpx.GPXTrack(name=name)
    track.segments.append(segment)
    whole = gpxpy.gpx.GPX()
    whole.creator = "Foraywright"
    whole.tracks.append(track)
    return str(whole.to_xml(version="1.1"))


def _vetted(content: bytes) -> Element:
    try:
        root: Element = fromstring(content, forbid_dtd=True)
    except DefusedXmlException as fault:
        raise GpxRefused("It brings rules of its own along (a document type), which no GPX file needs.") from fault
    except (ParseError, ValueError, LookupError) as fault:
        raise GpxRefused("It is broken: it cannot be read as XML.") from fault
    if _local(root) != "gpx":
        raise GpxRefused("It is no GPX file: its outermost element is not “gpx”.")
    return root


def _local(element: Element) -> str:
    return element.tag.rpartition("}")[2]


def _bare(root: Element) -> Element:
    """One track of one segment with positions and heights, made anew."""
    bare = Element("gpx", version="1.1")
    segment = SubElement(SubElement(bare, "trk"), "trkseg")
    found = _points(root)
    if len(found) > MOST_POINTS:
        raise GpxRefused(f"It has {len(found)} points; up to {MOST_POINTS} are read. Save it with fewer.")
    for one in found:
        point = SubElement(segment, "trkpt", lat=one.get("lat", ""), lon=one.get("lon", ""))
        height = next((part.text for part in one if _local(part) == "ele"), None)
        if height:
            SubElement(point, "ele").text = height
    return bare


def _points(root: Element) -> list[Element]:
    for way, kind in WAYS:
        lines = [[*_below(one, kind)] for one in root if _local(one) == way]
        full = [points for points in lines if points]
        if len(full) > 1:
            raise GpxRefused(f"It holds {len(full)} ways. Save the one that is walked in a file of its own.")
        if full:
            return full[0]
    raise GpxRefused("There is no track and no route in it.")


def _below(way: Element, kind: str) -> Iterator[Element]:
    """The points of a way: in it, or in its segments."""
    for part in way:
        if _local(part) == kind:
            yield part
        elif _local(part) == "trkseg":
            yield from (one for one in part if _local(one) == kind)


def _checked(points: Sequence[Point]) -> Route:
    for one in points:
        if not (_within(one.latitude, 90) and _within(one.longitude, 180)):
            raise GpxRefused("A position in it lies nowhere on Earth.")
        if one.height is not None and not HEIGHTS_M[0] <= one.height <= HEIGHTS_M[1]:
            raise GpxRefused("A height in it lies nowhere on Earth.")
    apart = [points[0], *(other for one, other in pairwise(points) if _place(one) != _place(other))]
    if len(apart) < 2:
        raise GpxRefused("It stays on one spot.")
    _refuse_leaps(apart)
    return Route(tuple(apart))


def _within(degrees: float, limit: float) -> bool:
    return math.isfinite(degrees) and abs(degrees) <= limit


def _place(point: Point) -> tuple[float, float]:
    return point.latitude, point.longitude


def _refuse_leaps(points: Sequence[Point]) -> None:
    steps = [metres_between(one, other) for one, other in pairwise(points)]
    if max(steps) > LONGEST_STEP_M:
        raise GpxRefused(f"It leaps {max(steps) / 1000:.1f} km between two points: that was not walked.")
    if sum(steps) > LONGEST_ROUTE_M:
        raise GpxRefused(f"It is {sum(steps) / 1000:.0f} km long: more than anybody walks in a day.")
