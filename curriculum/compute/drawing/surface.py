"""Shade and surface on the left half of a cap, as found. Positions are (i, azimuth): along and round it."""

import math
from collections.abc import Callable
from random import Random

from curriculum.compute.drawing.cap import Cap
from curriculum.compute.drawing.curves import Point, Points, blob, inside, steps
from curriculum.compute.drawing.pen import FINE, HAIR, Figure

QUARTER = math.pi / 2


def draw_surface(figure: Figure, cap: Cap, surface: str, outline: Points) -> None:
    """Shade, then whatever the recorded surface puts on it; nothing more where the surface is unknown."""
    shade(figure, cap, outline)
    draw = SURFACES.get(surface)
    if draw:
        draw(figure, cap, figure.random(f"surface/{draw.__name__}"), outline)


def shade(figure: Figure, cap: Cap, outline: Points) -> None:
    """Strokes up from the rim, long at the outline and short towards the middle."""
    random, last = figure.random("shade"), len(cap.profile) - 1
    for k in range(38):
        azimuth = -QUARTER + QUARTER * ((k + 0.5) / 38) ** 1.2
        reach = (0.62 * (1 - k / 38) + 0.07) * random.uniform(0.6, 1.1)
        start = random.uniform(0.94, 0.985)
        points = [cap.seen(last * (start - reach * s), azimuth) for s in steps(7)]
        figure.hatch(points, 0.26 * (1 - 0.5 * k / 38), head=0.2, within=outline)


def _places(cap: Cap, random: Random, rows: int, each: Callable[[float], int]) -> list[tuple[float, float]]:
    """Scattered places in even rows, so that neither gaps nor heaps appear."""
    last = len(cap.profile) - 1
    places = []
    for row in range(rows):
        share = cap.profile[int(last * (row + 0.5) / rows)][0] / cap.radius
        count = max(1, each(share))
        for k in range(count):
            i = last * (row + 0.5 + random.uniform(-0.42, 0.42)) / rows
            places.append((i, -QUARTER * (k + random.uniform(0.15, 0.85)) / count))
    return places


def _scales(figure: Figure, cap: Cap, random: Random, outline: Points) -> None:
    for i, a in _places(cap, random, 11, lambda share: round(2 + 11 * share)):
        x, y = cap.seen(i, a)
        w, h = cap.radius * random.uniform(0.025, 0.045), cap.radius * 0.03
        tile = [
            (x - w, y + h * 0.2),
            (x - w * 0.4, y - h * 0.6),
            (x, y - h),
            (x + w * 0.5, y - h * 0.5),
            (x + w, y + h * 0.3),
        ]
        _shape_within(figure, tile, outline, fill="ink")


def _shaggy(figure: Figure, cap: Cap, random: Random, outline: Points) -> None:
    for i, a in _places(cap, random, 9, lambda share: round(2 + 8 * share)):
        x, y = cap.seen(i, a)
        w = cap.radius * random.uniform(0.05, 0.08)
        lean = math.sin(a) * w
        figure.stroke(
            [(x - w * 0.6, y), (x - w * 0.1 + lean * 0.3, y - w * 0.5), (x + lean, y - w * 1.3)], 0.3, within=outline
        )
        figure.stroke(
            [(x + w * 0.6, y), (x + w * 0.3 + lean * 0.4, y - w * 0.6), (x + lean, y - w * 1.3)], 0.3, within=outline
        )


def _warts(figure: Figure, cap: Cap, random: Random, outline: Points) -> None:
    for i, a in _places(cap, random, 6, lambda share: round(1 + 5 * share)):
        r = cap.radius * random.uniform(0.025, 0.05)
        _shape_within(figure, blob(random, cap.seen(i, a), r, r * 0.65, 0.25, 7), outline)


def _patches(figure: Figure, cap: Cap, random: Random, outline: Points) -> None:
    for i, a in _places(cap, random, 3, lambda share: round(1 + share)):
        r = cap.radius * random.uniform(0.08, 0.15)
        _shape_within(figure, blob(random, cap.seen(i, a), r, r * 0.55, 0.3, 9), outline)


def _bumps(figure: Figure, cap: Cap, random: Random, outline: Points) -> None:
    for i, a in _places(cap, random, 9, lambda share: round(2 + 8 * share)):
        x, y = cap.seen(i, a)
        r = cap.radius * random.uniform(0.025, 0.04)
        figure.stroke([(x - r, y - r * 0.3), (x - r * 0.2, y + r * 0.7), (x + r, y - r * 0.2)], 0.22, within=outline)


def _cracks(figure: Figure, cap: Cap, random: Random, outline: Points) -> None:
    for i, a in _places(cap, random, 6, lambda share: round(1 + 4 * share)):
        x, y = cap.seen(i, a)
        r = cap.radius * random.uniform(0.06, 0.1)
        for turn in (0.4, 2.5, 4.6):
            end = (x + r * math.cos(turn + a), y + r * 0.6 * math.sin(turn + a))
            bend = ((x + end[0]) / 2 + r * random.uniform(-0.15, 0.15), (y + end[1]) / 2)
            figure.stroke([(x, y), bend, end], 0.26, head=0.1, within=outline)


def _fibres(figure: Figure, cap: Cap, random: Random, outline: Points) -> None:
    last = len(cap.profile) - 1
    for i, a in _places(cap, random, 7, lambda share: round(2 + 9 * share)):
        reach = last * random.uniform(0.07, 0.14)
        figure.stroke([cap.seen(min(i + reach * s, last), a) for s in steps(4)], 0.2, within=outline)


def _silk(figure: Figure, cap: Cap, random: Random, outline: Points) -> None:
    last = len(cap.profile) - 1
    for k in range(15):
        a, low = -QUARTER * (k + 0.5) / 15, random.uniform(0.15, 0.4)
        figure.stroke([cap.seen(last * s, a) for s in steps(6, low, low + 0.45)], 0.13, within=outline)


def _nap(figure: Figure, cap: Cap, random: Random, outline: Points) -> None:
    """Short hairs: over the surface, and standing off the outline."""
    last = len(cap.profile) - 1
    for i, a in _places(cap, random, 10, lambda share: round(2 + 10 * share)):
        x, y = cap.seen(i, a)
        h = cap.radius * 0.022
        figure.stroke([(x, y), (x + h * 0.3, y + h * 0.5), (x, y + h)], 0.15, within=outline)
    for i in steps(26, last * 0.08, last * 0.97):
        (x, y), h = cap.seen(i, -QUARTER), cap.radius * 0.022
        figure.stroke([(x, y), (x - h * 0.5, y + h * 0.6), (x - h, y + h * 0.9)], 0.16)


def _powder(figure: Figure, cap: Cap, random: Random, outline: Points) -> None:
    for i, a in _places(cap, random, 12, lambda share: round(2 + 12 * share)):
        figure.dot(cap.seen(i, a), random.uniform(0.14, 0.24), within=outline)


def _zones(figure: Figure, cap: Cap, random: Random, outline: Points) -> None:
    last = len(cap.profile) - 1
    for share in (0.35, 0.52, 0.68, 0.83):
        wobble = [random.uniform(-0.006, 0.006) for _ in range(13)]
        points = [cap.seen(last * (share + w), a) for a, w in zip(steps(12, -QUARTER, 0), wobble, strict=True)]
        figure.line(points[1:], FINE)


def _two_toned(figure: Figure, cap: Cap, random: Random, outline: Points) -> None:
    last = len(cap.profile) - 1
    figure.line([cap.seen(last * 0.56 + random.uniform(-0.2, 0.2), a) for a in steps(12, -QUARTER * 0.97, 0)], HAIR)


def _wrinkles(figure: Figure, cap: Cap, random: Random, outline: Points) -> None:
    last = len(cap.profile) - 1
    for k in range(9):
        a = -QUARTER * (k + 0.5) / 9
        points = [cap.seen(last * s, a + 0.05 * math.sin(9 * s + k)) for s in steps(9, 0.25, random.uniform(0.7, 0.95))]
        figure.stroke(points, 0.24, within=outline)


def _cones(figure: Figure, cap: Cap, random: Random, outline: Points) -> None:
    """Short cones, on the surface and on the outline."""
    last = len(cap.profile) - 1
    r = cap.radius * 0.03
    for i, a in _places(cap, random, 11, lambda share: round(2 + 10 * share)):
        x, y = cap.seen(i, a)
        _shape_within(figure, [(x - r * 0.7, y - r * 0.4), (x, y + r), (x + r * 0.7, y - r * 0.4)], outline)
    for i in steps(20, last * 0.04, last * 0.85):
        x, y = cap.seen(i, -QUARTER)
        figure.stroke([(x + r * 0.3, y), (x - r * 0.4, y + r * 0.3), (x - r, y + r * 0.7)], 0.3, head=0.1)


def _pitted(figure: Figure, cap: Cap, random: Random, outline: Points) -> None:
    for i, a in _places(cap, random, 8, lambda share: round(1 + 6 * share)):
        r = cap.radius * random.uniform(0.06, 0.085)
        pit = blob(random, cap.seen(i, a), r, r * 0.9, 0.15)
        if all(inside(point, outline) for point in pit):
            figure.shape(pit, FINE, "wash")


def _shine(figure: Figure, cap: Cap, random: Random, outline: Points) -> None:
    """The light on a wet skin: a blank window with a fine edge."""
    last = len(cap.profile) - 1
    low, high = (
        [cap.seen(last * 0.62, a) for a in steps(6, -1.05, -0.55)],
        [cap.seen(last * 0.4, a) for a in steps(6, -0.62, -1.0)],
    )
    figure.shape([*low, *high], HAIR)


def _shape_within(figure: Figure, points: list[Point], outline: Points, fill: str = "paper") -> None:
    if all(inside(point, outline) for point in points):
        figure.shape(points, FINE, fill)


SURFACES: dict[str, Callable[[Figure, Cap, Random, Points], None]] = {
    "scaly": _scales, "shaggy": _shaggy, "warts": _warts, "patches": _patches, "bumpy": _bumps, "cracked": _cracks,
    "fibrous": _fibres, "silky": _silk, "velvety": _nap, "downy": _nap, "spiny": _cones, "honeycomb": _pitted,
    "powdery": _powder, "zoned": _zones, "two_toned": _two_toned, "wrinkled": _wrinkles, "slimy": _shine,
    "sticky": _shine, "greasy": _shine, "jelly_skin": _shine,
}  # fmt: skip
