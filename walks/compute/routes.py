"""A recorded route: how long it is, how much it climbs, and its legs. Points are WGS84, in the order walked.

Distance is geodesic on the WGS84 ellipsoid (Karney 2013, by the library pyproj), the heights left out. Heights from a
satellite or a map wander by metres, so climbing is counted by our rule (no published standard): each height is averaged
with those up to 25 m before and behind it along the way, and a rise or a fall counts, from turn to turn, once it
comes to 5 m. Two devices still differ by a tenth and more: a figure for planning, none for a record.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import accumulate, pairwise

from pyproj import Geod

from walks.compute.walking_time import Leg

GEOD = Geod(ellps="WGS84")
SMOOTHED_M = 25.0
THRESHOLD_M = 5.0
A_HAIR = 0.001
"""Metres: points as far before as behind must both be in, whatever the last digits say."""

LEG_M = 50.0
"""The stretch of which a slope is asked: on shorter ones the wander of the heights would be read as steep."""


@dataclass(frozen=True, slots=True)
class Point:
    """Latitude and longitude in degrees; height in metres, None where none was recorded."""

    latitude: float
    longitude: float
    height: float | None = None


@dataclass(frozen=True)
class Route:
    """At least two points."""

    points: tuple[Point, ...]

    @cached_property
    def along(self) -> tuple[float, ...]:
        """Metres from the start to each point."""
        steps = (metres_between(one, other) for one, other in pairwise(self.points))
        return tuple(accumulate(steps, initial=0.0))

    @property
    def distance_m(self) -> float:
        return self.along[-1]

    @cached_property
    def heights(self) -> tuple[float, ...] | None:
        """The averaged height of each point, None where a point has none."""
        raw = [one.height for one in self.points if one.height is not None]
        return smoothed(self.along, raw) if len(raw) == len(self.points) else None

    @cached_property
    def climbs(self) -> tuple[float, float] | None:
        """Metres up and metres down, None without heights."""
        return None if self.heights is None else ups_and_downs(self.heights)

    @cached_property
    def legs(self) -> tuple[Leg, ...]:
        """Stretches of `LEG_M` and what is left over, with their rise (0 without heights)."""
        marks = [LEG_M * n for n in range(int(self.distance_m // LEG_M) + 1)]
        if self.distance_m - marks[-1] > 1e-6:
            marks.append(self.distance_m)
        if len(marks) > 2 and marks[-1] - marks[-2] < LEG_M / 2:
            del marks[-2]  # a short rest would be read as a steep slope
        return tuple(Leg(b - a, self.height_at(b) - self.height_at(a)) for a, b in pairwise(marks))

    def height_at(self, metres: float) -> float:
        """The averaged height so far along the route, 0 without heights."""
        return 0.0 if self.heights is None else between(self.along, self.heights, metres)


def metres_between(one: Point, other: Point) -> float:
    """Geodesic distance over the ellipsoid."""
    return float(GEOD.inv(one.longitude, one.latitude, other.longitude, other.latitude)[2])


def smoothed(along: Sequence[float], heights: Sequence[float]) -> tuple[float, ...]:
    """Each height averaged with those within `SMOOTHED_M` along the way, less where the route begins or ends.

    The window is as long before as behind, so that a steady slope stays what it is.
    """
    sums = (0.0, *accumulate(heights))
    averaged = []
    for at in along:
        reach = min(SMOOTHED_M, at, along[-1] - at) + A_HAIR
        first, past = bisect_left(along, at - reach), bisect_right(along, at + reach)
        averaged.append((sums[past] - sums[first]) / (past - first))
    return tuple(averaged)


def ups_and_downs(heights: Sequence[float]) -> tuple[float, float]:
    """Metres up and metres down from turn to turn, counting no rise or fall below `THRESHOLD_M`."""
    changes = [other - one for one, other in pairwise(turns(heights))]
    return sum(one for one in changes if one > 0), -sum(one for one in changes if one < 0)


def turns(heights: Sequence[float]) -> list[float]:
    """The heights at which a rise turns into a fall of `THRESHOLD_M` or more, or the other way; with the first and the
    last of them none where the ground is level to within the threshold."""
    low = high = heights[0]
    found: list[float] = []
    direction = 0
    for height in heights:
        low, high = min(low, height), max(high, height)
        if direction <= 0 and height - low >= THRESHOLD_M:
            found.append(low)
            direction, high = 1, height
        elif direction >= 0 and high - height >= THRESHOLD_M:
            found.append(high)
            direction, low = -1, height
    return [*found, high if direction > 0 else low] if direction else []


def between(along: Sequence[float], values: Sequence[float], metres: float) -> float:
    """The value at `metres`, on a straight line between its neighbours; the first or last one beyond the ends."""
    after = bisect_right(along, metres)
    if after == 0:
        return values[0]
    if after == len(along):
        return values[-1]
    start, end = along[after - 1], along[after]
    return values[after - 1] + (values[after] - values[after - 1]) * (metres - start) / (end - start)


def nearest_m(route: Route, point: Point) -> float:
    """Metres from `point` to the nearest recorded point of the route."""
    return min(metres_between(point, one) for one in route.points)
