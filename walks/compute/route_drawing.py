"""A route as a line drawing in SVG: the way seen from above, with north up.

The way lies on a plane that touches the ellipsoid at its middle: over the few kilometres of a walk this is true to well
below the width of a line. It is for finding one's way in words, never for navigation off the path.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from walks.compute.routes import Point, Route, between, metres_between
from walks.compute.svg_parts import (
    PAPER,
    RUST,
    area,
    drawing,
    metres_words,
    nice_length,
    path_of,
    stroke,
    text,
)

WIDTH = 400.0
TALLEST, SHORTEST = 420.0, 120.0
MARGIN = 30.0
FOOT = 34.0
"""Below the way: the scale bar."""
MOST_DRAWN = 600


@dataclass(frozen=True, slots=True)
class Paper:
    """Where the ground comes to lie on the drawing: `scale` in units a metre, north up."""

    middle: Point
    scale: float
    height: float

    def at(self, point: Point) -> tuple[float, float]:
        """Units from the left and from the top."""
        east, north = on_plane(self.middle, point)
        return WIDTH / 2 + east * self.scale, (self.height - FOOT) / 2 - north * self.scale


def route_svg(route: Route, meeting: Point, words: str) -> str:
    """The way with scale bar, north arrow, meeting point and direction; `words` say it to who cannot see it."""
    points = thinned(route.points)
    paper = paper_for([*points, meeting])
    parts = [
        stroke(path_of([paper.at(one) for one in points]), 2),
        *(_arrow_head(route, paper, share * route.distance_m) for share in (0.2, 0.5, 0.8)),
        _meeting(*paper.at(meeting)),
        area(f"M{WIDTH - 16},12 l5,16 l-5,-4 l-5,4 Z", "ink"),
        text(WIDTH - 16, 42, "N", "middle"),
        _scale_bar(paper),
    ]
    return drawing(WIDTH, paper.height, words, parts)


def on_plane(middle: Point, point: Point) -> tuple[float, float]:
    """Metres east and north of `middle`, each measured along its own line over the ellipsoid."""
    east = metres_between(middle, Point(middle.latitude, point.longitude))
    north = metres_between(middle, Point(point.latitude, middle.longitude))
    return (
        math.copysign(east, point.longitude - middle.longitude),
        math.copysign(north, point.latitude - middle.latitude),
    )


def thinned(points: Sequence[Point]) -> list[Point]:
    """At most about `MOST_DRAWN` of the points, the first and the last among them."""
    kept = list(points[:: math.ceil(len(points) / MOST_DRAWN)])
    return kept if kept[-1] == points[-1] else [*kept, points[-1]]


def paper_for(points: Sequence[Point]) -> Paper:
    """The paper on which all of `points` lie inside the margins, as large as they may be."""
    latitudes, longitudes = [one.latitude for one in points], [one.longitude for one in points]
    middle = Point((min(latitudes) + max(latitudes)) / 2, (min(longitudes) + max(longitudes)) / 2)
    half_wide, half_high = on_plane(middle, Point(max(latitudes), max(longitudes)))
    wide, high = max(2 * half_wide, 1.0), max(2 * half_high, 1.0)
    scale = min((WIDTH - 2 * MARGIN) / wide, (TALLEST - 2 * MARGIN) / high)
    return Paper(middle, scale, max(SHORTEST, high * scale + 2 * MARGIN) + FOOT)


def _arrow_head(route: Route, paper: Paper, metres: float) -> str:
    reach = 6 / paper.scale
    (x0, y0), (x1, y1) = (paper.at(_along(route, one)) for one in (metres - reach, metres + reach))
    x, y = paper.at(_along(route, metres))
    turn = math.degrees(math.atan2(y1 - y0, x1 - x0))
    return area("M-5,-4.5 L6,0 L-5,4.5 Z", "ink", f"translate({x:.1f} {y:.1f}) rotate({turn:.0f})")


def _along(route: Route, metres: float) -> Point:
    latitudes = [one.latitude for one in route.points]
    longitudes = [one.longitude for one in route.points]
    return Point(between(route.along, latitudes, metres), between(route.along, longitudes, metres))


def _meeting(x: float, y: float) -> str:
    beside, anchor = (x + 10, "start") if x < WIDTH / 2 else (x - 10, "end")
    ring = f'<circle class="paper rust-line" cx="{x:.1f}" cy="{y:.1f}" r="6" fill="{PAPER}" stroke="{RUST}" '
    dot = f'<circle class="rust" cx="{x:.1f}" cy="{y:.1f}" r="2" fill="{RUST}"/>'
    label = text(beside, y - 9, "meet here", "start" if anchor == "start" else "end", halo=True)
    return f'{ring}stroke-width="2"/>{dot}{label}'


def _scale_bar(paper: Paper) -> str:
    metres = nice_length(WIDTH / 3 / paper.scale)
    long, y = metres * paper.scale, paper.height - 12
    return stroke(f"M12,{y - 5:.1f} v5 h{long:.1f} v-5", 1.5) + text(12 + long + 8, y, metres_words(metres))
