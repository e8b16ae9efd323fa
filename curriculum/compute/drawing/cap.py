"""The cap of a stemmed fungus: its profile by shape, and the left half as found, seen from a little above.

Profiles are drawn from the words of the vocabulary, not measured from finds: x from 0 (centre) to 1 (margin), y in
shares of the cap's height. Common practice of drawing, no source. Heights are no recorded character.
"""

import math
from dataclasses import dataclass

from curriculum.compute.drawing.curves import Point, Points, at_x, mirrored, splined, steps
from curriculum.compute.drawing.pen import FINE, OUTLINE, Figure

TILT = 0.15

# Height as a share of the half width, then the profile from the centre to the margin.
SHAPES: dict[str, tuple[float, tuple[Point, ...]]] = {
    "convex": (0.56, ((0, 1), (0.3, 0.96), (0.58, 0.8), (0.82, 0.48), (0.95, 0.18), (1, 0))),
    "hemispherical": (0.86, ((0, 1), (0.34, 0.94), (0.66, 0.75), (0.88, 0.46), (0.98, 0.18), (1, 0))),
    "cushion": (0.6, ((0, 1), (0.35, 0.97), (0.68, 0.84), (0.9, 0.55), (1, 0.2), (0.97, 0))),
    "flat": (0.26, ((0, 1), (0.45, 0.97), (0.75, 0.84), (0.92, 0.5), (1, 0.08), (0.992, 0))),
    "boss": (0.42, ((0, 1), (0.1, 0.96), (0.24, 0.76), (0.4, 0.63), (0.7, 0.48), (0.92, 0.22), (1, 0))),
    "pointed": (0.66, ((0, 1), (0.035, 0.94), (0.11, 0.72), (0.28, 0.53), (0.6, 0.34), (0.88, 0.14), (1, 0))),
    "depressed": (0.34, ((0, 0.42), (0.2, 0.52), (0.42, 0.82), (0.62, 0.98), (0.8, 0.86), (0.95, 0.4), (1, 0))),
    "funnel": (0.5, ((0, -0.86), (0.14, -0.78), (0.35, -0.42), (0.6, 0), (0.82, 0.2), (0.95, 0.16), (1, 0))),
    "bell": (0.98, ((0, 1), (0.2, 0.95), (0.4, 0.78), (0.57, 0.5), (0.74, 0.24), (0.91, 0.07), (1, 0))),
    "conical": (1.05, ((0, 1), (0.07, 0.93), (0.3, 0.7), (0.6, 0.4), (0.87, 0.12), (1, 0))),
    "egg": (1.55, ((0, 1), (0.32, 0.94), (0.65, 0.74), (0.9, 0.42), (1, 0.16), (0.96, 0))),
    "cylindrical": (2.1, ((0, 1), (0.36, 0.97), (0.7, 0.88), (0.92, 0.72), (1, 0.4), (1, 0.12), (0.98, 0))),
}
HOLLOW = ("funnel", "trumpet")
NEUTRAL = "convex"


@dataclass(frozen=True, slots=True)
class Cap:
    """A cap in millimetres: half width, profile (centre to margin, y over the margin) and the level of its margin."""

    radius: float
    profile: tuple[Point, ...]
    level: float
    hollow: bool
    wave: float
    lobes: int

    def top(self, x: float) -> float:
        """Height of the surface over the ground at a distance x from the axis."""
        return self.level + at_x(self.profile, x)

    def shoulder(self) -> int:
        """Index of the highest point of the profile: 0 unless the middle is hollowed."""
        return max(range(len(self.profile)), key=lambda i: self.profile[i][1])

    def seen(self, i: float, azimuth: float) -> Point:
        """A point of the surface: position i along the profile, azimuth 0 towards us, ±90° on the outline."""
        x, y = _at(self.profile, i)
        share = x / self.radius
        up = self.wave * self.radius * share**3 * math.sin(self.lobes * azimuth + 0.9) * math.cos(azimuth)
        return x * math.sin(azimuth), self.level + y - TILT * x * math.cos(azimuth) + up

    def rim(self, start: float = -math.pi / 2, end: float = 0.0) -> list[Point]:
        """The near edge of the cap from the outline to the cut."""
        last = len(self.profile) - 1
        return [self.seen(last, a) for a in steps(22 if self.wave else 12, start, end)]


def cap_of(shape: str, radius: float, margin: str, tallest: float) -> Cap:
    """The cap with its margin at height 0; `tallest` caps the height so that the whole stays in proportion."""
    ratio, points = SHAPES.get(shape, SHAPES[NEUTRAL])
    height = min(ratio * radius, tallest)
    dense = splined([(x * radius, y * height) for x, y in points], 5)
    widest = max(x for x, _ in dense)
    profile = [(x * radius / widest, y) for x, y in dense]
    if margin == "inrolled":
        profile += [(radius * a, -radius * b) for a, b in ((0.985, 0.05), (0.945, 0.075), (0.91, 0.06))]
    if margin == "overhanging":
        profile += [(radius * 0.995, -radius * 0.07), (radius * 0.985, -radius * 0.1)]
    waves = {"wavy": (0.055, 9), "lobed": (0.1, 6)}
    wave, lobes = waves.get(margin, (0.0, 1))
    wave *= 0.5 if shape in HOLLOW else 1.0
    return Cap(radius, tuple(profile), 0.0, shape in HOLLOW, wave, lobes)


def silhouette(cap: Cap) -> list[Point]:
    """The outline of the whole cap from the left margin over the top, or the far edge, to the right margin."""
    i = cap.shoulder()
    right = [(x, cap.level + y) for x, y in cap.profile[i:]]
    far = [_behind(cap, i, a) for a in steps(20, -math.pi / 2, math.pi / 2)][1:-1] if i else []
    return [*reversed(mirrored(right)), *far, *right[0 if far else 1 :]]


def half_as_found(figure: Figure, cap: Cap) -> list[Point]:
    """Draws the left half as it stands, but for its upper outline; returns the room of its surface."""
    i = cap.shoulder()
    outside = [cap.seen(k, -math.pi / 2) for k in range(i, len(cap.profile))]
    back = [_behind(cap, i, a) for a in steps(10, 0, -math.pi / 2)] if i else []
    outline = [*back, *outside[1 if back else 0 :], *cap.rim()[1:]]
    figure.area(outline)
    figure.line(cap.rim(), OUTLINE * 0.9)
    if i:
        _hollowed(figure, cap, i)
    figure.line([outline[0], outline[-1]], FINE)
    return outline


def far_wall(figure: Figure, cap: Cap) -> None:
    """Behind the cut: the far side of a hollowed middle."""
    i = cap.shoulder()
    if i:
        far = [_behind(cap, i, a) for a in steps(10, 0, math.pi / 2)]
        figure.area([*far, *[(x, cap.level + y) for x, y in reversed(cap.profile[: i + 1])]], "wash")


def _behind(cap: Cap, i: int, azimuth: float) -> Point:
    """The far edge of a hollowed middle; as an outline it must not fall below the shoulder."""
    x, y = cap.profile[i]
    return x * math.sin(azimuth), cap.level + y + TILT * x * math.cos(azimuth) * 0.8


def _hollowed(figure: Figure, cap: Cap, i: int) -> None:
    near = cap.rim() if cap.hollow else [cap.seen(i * 0.97, a) for a in steps(12, -math.pi / 2, 0)]
    far = [_behind(cap, i, a) for a in steps(12, -math.pi / 2, 0)]
    figure.area([*far, *reversed(near)], "wash")
    if not cap.hollow:
        figure.line(near, FINE)
    floor = cap.level + cap.profile[0][1]
    for a in steps(9, -1.35, -0.1):
        x, y = _behind(cap, i, a)
        low = max(floor, cap.seen(i * 0.97, a)[1])
        figure.hatch(
            [(x * s, y + (low - y) * (1 - s) * 1.1) for s in (0.98, 0.85, 0.7, 0.55)],
            0.2,
            within=[*far, *reversed(near)],
        )


def _at(points: Points, i: float) -> Point:
    k = min(int(i), len(points) - 2)
    share = i - k
    (x0, y0), (x1, y1) = points[k], points[k + 1]
    return x0 + (x1 - x0) * share, y0 + (y1 - y0) * share
