"""Plane geometry for drawings: points in millimetres, y upwards. Nothing here knows what is drawn."""

import math
from collections.abc import Callable, Iterable, Sequence
from itertools import pairwise
from random import Random
from typing import TypeAlias

Point: TypeAlias = tuple[float, float]
Points: TypeAlias = Sequence[Point]
Curve: TypeAlias = Callable[[float], Point]

CORNER = math.cos(math.radians(52))


def steps(count: int, low: float = 0.0, high: float = 1.0) -> list[float]:
    """`count` + 1 evenly spaced numbers from `low` to `high`, both included."""
    return [low + (high - low) * i / count for i in range(count + 1)]


def sampled(curve: Curve, count: int, low: float = 0.0, high: float = 1.0) -> list[Point]:
    """`count` + 1 points of a curve of one parameter."""
    return [curve(t) for t in steps(count, low, high)]


def between(a: Point, b: Point, t: float) -> Point:
    """The point at the share t of the way from a to b."""
    return a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t


def bump(x: float, middle: float, width: float) -> float:
    """A bell of height 1 at `middle`: exp(-((x - middle) / width) ** 2)."""
    return math.exp(-(((x - middle) / width) ** 2))


def mirrored(points: Points) -> list[Point]:
    """The same points on the other side of the upright axis."""
    return [(-x, y) for x, y in points]


def moved(points: Points, dx: float, dy: float, scale: float = 1.0, turn: float = 0.0) -> list[Point]:
    """Points scaled and turned (radians, anticlockwise) about the origin, then shifted."""
    c, s = math.cos(turn) * scale, math.sin(turn) * scale
    return [(x * c - y * s + dx, x * s + y * c + dy) for x, y in points]


def ellipse(
    middle: Point, rx: float, ry: float, start: float = 0.0, end: float = 2 * math.pi, whole: int = 16
) -> list[Point]:
    """Points of an elliptic arc between two angles (radians); a full turn has `whole` points."""
    count = max(6, round(whole * abs(end - start) / (2 * math.pi)))
    angles = steps(count, start, end)[: -1 if abs(end - start) > 6.28 else None]
    return [(middle[0] + rx * math.cos(a), middle[1] + ry * math.sin(a)) for a in angles]


def blob(random: Random, middle: Point, rx: float, ry: float, rough: float = 0.15, count: int = 12) -> list[Point]:
    """An irregular closed outline about `middle`."""
    angles = steps(count, 0, 2 * math.pi)[:-1]
    radii = [1 + random.uniform(-rough, rough) for _ in angles]
    return [
        (middle[0] + rx * r * math.cos(a), middle[1] + ry * r * math.sin(a)) for a, r in zip(angles, radii, strict=True)
    ]


def at_x(points: Points, x: float) -> float:
    """The height of a polyline at x: its first crossing, or the nearer end where it does not reach x."""
    for (x0, y0), (x1, y1) in pairwise(points):
        if min(x0, x1) <= x <= max(x0, x1):
            return y0 + (y1 - y0) * (x - x0) / ((x1 - x0) or 1)
    return min((points[0], points[-1]), key=lambda p: abs(p[0] - x))[1]


def along(points: Points, t: float) -> Point:
    """The point at the share t of a polyline's length."""
    lengths = [math.dist(a, b) for a, b in pairwise(points)]
    rest = sum(lengths) * min(max(t, 0.0), 1.0)
    for length, (a, b) in zip(lengths, pairwise(points), strict=True):
        if rest <= length:
            return between(a, b, rest / (length or 1))
        rest -= length
    return points[-1]


def resampled(points: Points, count: int) -> list[Point]:
    """`count` + 1 points evenly spaced along a polyline."""
    return [along(points, t) for t in steps(count)]


def splined(points: Points, each: int = 6) -> list[Point]:
    """A dense polyline of the same smooth curve that `bezier` draws through the points."""
    dense = [points[0]]
    for p0, (c1, c2, p3) in zip(points, bezier(points, closed=False), strict=False):
        dense += [_cubic(p0, c1, c2, p3, t) for t in steps(each)[1:]]
    return dense


def _cubic(p0: Point, p1: Point, p2: Point, p3: Point, t: float) -> Point:
    a, b, c, d = (1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3
    return a * p0[0] + b * p1[0] + c * p2[0] + d * p3[0], a * p0[1] + b * p1[1] + c * p2[1] + d * p3[1]


def bezier(points: Points, *, closed: bool) -> list[tuple[Point, Point, Point]]:
    """Catmull-Rom pieces (two handles and an end) from the first point on; a turn of more than 52° stays a corner."""
    ring = list(points)
    ahead = [*ring[1:], ring[0] if closed else ring[-1]]
    behind = [ring[-1] if closed else ring[0], *ring[:-1]]
    handles = [_handle(a, p, b) for a, p, b in zip(behind, ring, ahead, strict=True)]
    pairs = [(i, (i + 1) % len(ring)) for i in range(len(ring) if closed else len(ring) - 1)]
    return [(_shift(ring[i], handles[i], 1), _shift(ring[j], handles[j], -1), ring[j]) for i, j in pairs]


def _shift(p: Point, d: Point, sign: float) -> Point:
    return p[0] + sign * d[0], p[1] + sign * d[1]


def _handle(a: Point, p: Point, b: Point) -> Point:
    one, two = (p[0] - a[0], p[1] - a[1]), (b[0] - p[0], b[1] - p[1])
    lengths = math.hypot(*one), math.hypot(*two)
    if min(lengths) == 0 or (one[0] * two[0] + one[1] * two[1]) / (lengths[0] * lengths[1]) < CORNER:
        return 0.0, 0.0
    # A handle never reaches past a third of the shorter piece, so that uneven spacing makes no loops.
    chord = math.dist(a, b)
    reach = min(chord / 6, min(lengths) / 2.4)
    return (b[0] - a[0]) / chord * reach, (b[1] - a[1]) / chord * reach


def eased(points: Points, tolerance: float) -> list[Point]:
    """Fewer points along the same line: none that is left out lies further off than the tolerance.

    The method of Ramer (1972) and of Douglas and Peucker (1973), cited from memory.
    """
    kept = [0, len(points) - 1]
    spans = [(0, len(points) - 1)]
    while spans:
        low, high = spans.pop()
        far = max(range(low + 1, high), key=lambda i: _off(points[i], points[low], points[high]), default=low)
        if far > low and _off(points[far], points[low], points[high]) > tolerance:
            kept.append(far)
            spans += [(low, far), (far, high)]
    return [points[i] for i in sorted(set(kept))]


def _off(p: Point, a: Point, b: Point) -> float:
    """The distance of a point from the chord between two others."""
    length = math.dist(a, b)
    if not length:
        return math.dist(p, a)
    return abs((b[0] - a[0]) * (a[1] - p[1]) - (a[0] - p[0]) * (b[1] - a[1])) / length


def inside(point: Point, polygon: Points) -> bool:
    """Whether a point lies within a closed polygon (even-odd rule)."""
    x, y = point
    crossed = False
    for (x0, y0), (x1, y1) in pairwise([*polygon, polygon[0]]):
        if (y0 > y) != (y1 > y) and x < x0 + (y - y0) * (x1 - x0) / (y1 - y0):
            crossed = not crossed
    return crossed


def kept_within(points: Points, polygon: Points) -> list[Point]:
    """The longest run of a polyline's points that lies within the polygon; empty where none does."""
    best: list[Point] = []
    run: list[Point] = []
    for point in points:
        run = [*run, point] if inside(point, polygon) else []
        best = max(best, run, key=len)
    return best


def box(points: Iterable[Point]) -> tuple[float, float, float, float]:
    """The least x and y and the greatest x and y."""
    xs, ys = zip(*points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)
