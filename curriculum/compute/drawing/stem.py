"""The stem of a fungus: outline by shape and base, its surface (left half), its inside (right half), ring and volva.

A recorded thickness is drawn half-way up, a recorded length from the ground to where the gills begin. Proportions
that no character records (a ring's width, a bag's height) are common practice of drawing, no source.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from random import Random

from curriculum.compute.drawing.curves import Point, blob, bump, steps
from curriculum.compute.drawing.pen import FINE, HAIR, Figure, Size

SHAPES: dict[str, Callable[[float], float]] = {
    "even": lambda t: 1.0,
    "curved": lambda t: 1.0,
    "tapering_down": lambda t: 0.62 + 0.76 * t,
    "club": lambda t: 1.34 - 0.68 * t,
    "barrel": lambda t: (1 + 0.42 * bump(t, 0.16, 0.34)) / (1 + 0.42 * bump(0.5, 0.16, 0.34)),
}
# By q, the height over the base in stem widths.
BASES: dict[str, Callable[[float], float]] = {
    "swollen": lambda q: 1 + 0.3 * bump(q, 0.3, 0.95),
    "rimmed_bulb": lambda q: 1 + (0.55 + 0.25 * min(1.0, q / 0.5) if q < 0.62 else 0.0),
    "warty_bulb": lambda q: 1 + 0.7 * bump(q, 0.45, 0.75),
    "bag": lambda q: 1 + 0.55 * bump(q, 0.35, 0.7),
    "pointed": lambda q: math.sin(math.pi / 2 * min(1.0, 0.04 + q / 1.5)) ** 0.8,
    "rooting": lambda q: 0.72 + 0.28 * min(1.0, q / 1.5),
    "joined": lambda q: 1 - 0.3 * bump(q, 0.0, 1.4),
}
CURVE = 0.35
SHARP_FEET = ("pointed", "rooting")
SLIMMEST = 3.0
OPEN = 0.13


@dataclass(frozen=True, slots=True)
class Stem:
    """A stem in millimetres; t runs from 0 (base) to 1 (where the gills begin)."""

    length: float
    width: float
    shape: str
    base: str

    def half(self, t: float) -> float:
        """Half of the thickness at t."""
        return self.width / 2 * self._relative(t) / self._relative(0.5)

    def _relative(self, t: float) -> float:
        form = SHAPES.get(self.shape, SHAPES["even"])(t)
        swell = BASES.get(self.base, SHAPES["even"])(t * max(self.length / self.width, SLIMMEST))
        return form * swell * self._foot(t)

    def middle(self, t: float) -> float:
        """How far the axis stands off the upright at t: only a curved stem does."""
        if self.shape != "curved":
            return 0.0
        return CURVE * self.width * math.sin(math.pi * t * 0.5 + math.pi / 2) * (1 - t) * 2

    def at(self, t: float, across: float) -> Point:
        """The point at t, `across` from -1 (left outline) to 1 (right outline)."""
        return self.middle(t) + self.half(t) * across, t * self.length

    def edge(self, side: int, low: float = 0.0, high: float = 1.0) -> list[Point]:
        """One outline, upwards; denser at the foot, where it turns."""
        return [self.at(low + (high - low) * s**1.5, side) for s in steps(26)]

    def _foot(self, t: float) -> float:
        if self.base in SHARP_FEET:
            return 1.0
        foot = 0.42 * self.width / self.length
        return math.sqrt(max(0.0, 1 - (1 - min(1.0, t / foot)) ** 2))


def draw_stem(figure: Figure, stem: Stem, sizes: list[Size], top: float) -> list[Point]:
    """The whole outline, cut down the middle up to `top`, where the cap hides it; returns the left half."""
    left, right = stem.edge(-1), stem.edge(1)
    root = _root(stem)
    if root:
        figure.area([left[0], *root, right[0]])
    figure.area([*reversed(left), *right], sizes=sizes)
    if stem.base:
        figure.line([*reversed(left), *root, *right])
    else:
        _open_foot(figure, stem)
    low, high = (0.0 if stem.base else OPEN), min(1.0, top / stem.length)
    figure.line([(stem.middle(t), t * stem.length) for t in steps(8, low, high)], FINE)
    return [*left, (stem.middle(1), stem.length), *[(stem.middle(t), t * stem.length) for t in steps(8, 1, 0)]]


def _open_foot(figure: Figure, stem: Stem) -> None:
    """Nobody recorded the base: a dotted line that suggests no form."""
    left, right = stem.edge(-1, OPEN), stem.edge(1, OPEN)
    figure.line(left)
    figure.line(right)
    (x0, y0), (x1, y1) = left[0], right[0]
    figure.line([(x0, y0), (x0, 0), (x1, 0), (x1, y1)], FINE, dotted=True)


def _root(stem: Stem) -> list[Point]:
    if stem.base != "rooting":
        return []
    depth, half = 0.42 * stem.length, stem.half(0)
    left = [(-half * (1 - s) ** 0.7 + half * 0.12 * math.sin(7 * s), -depth * s) for s in steps(8)[1:-1]]
    right = [(half * (1 - s) ** 0.7 + half * 0.12 * math.sin(7 * s), -depth * s) for s in steps(8)[-2:0:-1]]
    return [*left, (half * 0.08, -depth), *right]


def shade_stem(figure: Figure, stem: Stem, left: list[Point], top: float) -> None:
    """Strokes along the left edge, fewer towards the light."""
    random = figure.random("stem shade")
    for k in range(15):
        across = -(0.96 - 0.6 * (k / 15) ** 1.3)
        low = random.uniform(0.0, 0.3)
        high = min(low + random.uniform(0.3, 0.7), 0.99 * top / stem.length)
        figure.hatch([stem.at(t, across) for t in steps(8, low, high)], 0.24 * (1 - k / 24), within=left)


def draw_stem_surface(figure: Figure, stem: Stem, surface: str, left: list[Point], top: float) -> None:
    """What the recorded surface puts on the left half."""
    draw = SURFACES.get(surface)
    if draw:
        draw(figure, stem, figure.random(f"stem/{draw.__name__}"), left, top / stem.length)


def _rows(stem: Stem, random: Random, low: float, high: float, gap: float, each: int) -> list[tuple[float, float]]:
    """Places (t, across) in rows `gap` stem widths apart."""
    count = max(3, min(40, round((high - low) * stem.length / (gap * stem.width))))
    rows = [low + (high - low) * (k + random.uniform(0.2, 0.8)) / count for k in range(count)]
    return [(t, -(k + random.uniform(0.15, 0.85)) / each) for t in rows for k in range(each)]


def _net(figure: Figure, stem: Stem, random: Random, left: list[Point], high: float) -> None:
    """A raised net: meshes drawn out lengthwise, larger downwards."""
    rows, columns = 10, 4
    for r in range(rows):
        t = 0.3 + (high - 0.31) * r / rows
        for c in range(columns + 1):
            a = -(c + (0.5 if r % 2 else 0)) / columns
            w, h = 0.5 / columns * 0.94, (high - 0.3) / rows * 1.05
            mesh = [
                stem.at(t + h, a),
                stem.at(t + h * 0.45, a - w),
                stem.at(t - h * 0.1, a - w * 0.9),
                stem.at(t - h * 0.6, a),
                stem.at(t - h * 0.1, a + w * 0.9),
                stem.at(t + h * 0.45, a + w),
            ]
            figure.stroke([*mesh, mesh[0]], 0.22, head=0.5, within=left)


def _zigzag(figure: Figure, stem: Stem, random: Random, left: list[Point], high: float) -> None:
    for t, a in _rows(stem, random, 0.1, high * 0.95, 0.32, 2):
        w = random.uniform(0.2, 0.34)
        figure.stroke(
            [
                stem.at(t, a - w),
                stem.at(t + 0.012, a - w * 0.4),
                stem.at(t - 0.004, a),
                stem.at(t + 0.014, a + w * 0.5),
                stem.at(t, a + w),
            ],
            0.42,
            within=left,
        )


def _bands(figure: Figure, stem: Stem, random: Random, left: list[Point], high: float) -> None:
    for k in range(4):
        t = 0.14 + (high * 0.85 - 0.14) * (k + random.uniform(0.1, 0.5)) / 4
        wave = [random.uniform(-0.008, 0.008) for _ in range(9)]
        band = [stem.at(t + w, a) for w, a in zip(wave, steps(8, -1, 0), strict=True)]
        figure.line(band, FINE)
        figure.line(
            [(x, y - 0.12 * stem.width * (1 + 4 * abs(w) / 0.008 * 0.2)) for (x, y), w in zip(band, wave, strict=True)][
                1:
            ],
            HAIR,
        )


def _scales(figure: Figure, stem: Stem, random: Random, left: list[Point], high: float) -> None:
    h = 0.09 * stem.width / stem.length
    for t, a in _rows(stem, random, 0.08, high * 0.92, 0.24, 3):
        figure.stroke([stem.at(t + h, a - 0.1), stem.at(t - h, a), stem.at(t + h, a + 0.12)], 0.3, within=left)


def _shaggy(figure: Figure, stem: Stem, random: Random, left: list[Point], high: float) -> None:
    h = 0.2 * stem.width / stem.length
    for t, a in _rows(stem, random, 0.06, high * 0.9, 0.34, 4):
        figure.stroke([stem.at(t + h, a), stem.at(t, a - 0.06), stem.at(t - h * 0.6, a - 0.22)], 0.32, within=left)
    for t in steps(12, 0.1, high * 0.88):
        x, y = stem.at(t, -1)
        figure.stroke(
            [(x, y), (x - 0.09 * stem.width, y - 0.04 * stem.width), (x - 0.14 * stem.width, y - 0.16 * stem.width)],
            0.28,
        )


def _dots(figure: Figure, stem: Stem, random: Random, left: list[Point], high: float) -> None:
    for t, a in _rows(stem, random, 0.05, high * 0.95, 0.16, 3):
        figure.dot(stem.at(t, a), random.uniform(0.28, 0.5), within=left)


def _velvet(figure: Figure, stem: Stem, random: Random, left: list[Point], high: float) -> None:
    h = 0.1 * stem.width / stem.length
    for t, a in _rows(stem, random, 0.03, high * 0.9, 0.2, 4):
        figure.stroke([stem.at(t, a), stem.at(t + h, a - 0.04), stem.at(t + h * 2, a)], 0.16, within=left)
    for t in steps(40, 0.05, high * 0.9):
        x, y = stem.at(t, -1)
        figure.stroke(
            [(x, y), (x - 0.04 * stem.width, y + 0.03 * stem.width), (x - 0.07 * stem.width, y + 0.09 * stem.width)],
            0.16,
        )


def _woolly(figure: Figure, stem: Stem, random: Random, left: list[Point], high: float) -> None:
    for k in range(34):
        side, t = (-1 if k % 2 else 1), random.uniform(0.0, 0.2) ** 1.1
        x, y = stem.at(t, side * random.uniform(0.6, 1))
        reach = 0.16 * stem.width * random.uniform(0.5, 1.1)
        figure.stroke([(x, y), (x + side * reach * 0.6, y + reach * 0.3), (x + side * reach, y - reach * 0.2)], 0.17)


def _powder(figure: Figure, stem: Stem, random: Random, left: list[Point], high: float) -> None:
    for t, a in _rows(stem, random, 0.35, high * 0.98, 0.14, 3):
        figure.dot(stem.at(t, a), random.uniform(0.12, 0.2), within=left)


def _fibres(figure: Figure, stem: Stem, random: Random, left: list[Point], high: float) -> None:
    for t, a in _rows(stem, random, 0.04, high * 0.8, 0.7, 4):
        figure.stroke(
            [stem.at(min(t + s, high), a) for s in steps(5, 0, random.uniform(0.05, 0.14))], 0.18, within=left
        )


def _silk(figure: Figure, stem: Stem, random: Random, left: list[Point], high: float) -> None:
    for a in (-0.72, -0.5, -0.3, -0.14):
        low = random.uniform(0.06, 0.2)
        figure.stroke([stem.at(t, a) for t in steps(8, low, high * random.uniform(0.7, 0.95))], 0.13, within=left)


def _ridges(figure: Figure, stem: Stem, random: Random, left: list[Point], high: float) -> None:
    for a in (-0.82, -0.56, -0.3, -0.08):
        figure.stroke(
            [stem.at(t, a + 0.04 * math.sin(11 * t + 9 * a)) for t in steps(12, 0.03, high * 0.98)], 0.34, within=left
        )


def _pits(figure: Figure, stem: Stem, random: Random, left: list[Point], high: float) -> None:
    for t, a in _rows(stem, random, 0.08, high * 0.9, 0.45, 2):
        figure.shape(blob(random, stem.at(t, a * 0.8), 0.08 * stem.width, 0.11 * stem.width, 0.15), FINE, "wash")


SURFACES: dict[str, Callable[[Figure, Stem, Random, list[Point], float], None]] = {
    "net": _net, "zigzag": _zigzag, "bands": _bands, "scaly": _scales, "shaggy": _shaggy, "dots": _dots,
    "velvety": _velvet, "woolly_base": _woolly, "powdery": _powder, "fibrous": _fibres, "silky": _silk,
    "ridged": _ridges, "pitted": _pits,
}  # fmt: skip


def draw_inside(figure: Figure, stem: Stem, inside: str, top: float) -> None:
    """The cut half: flesh, stuffing, hollow or chambers; blank where nobody recorded it."""
    draw = INSIDES.get(inside)
    if draw:
        draw(figure, stem, figure.random("inside"), min(0.97, top / stem.length))


def _flesh(figure: Figure, stem: Stem, random: Random, high: float) -> None:
    for _ in range(26):
        t, a = random.uniform(0.06, high * 0.92), random.uniform(0.14, 0.86)
        figure.stroke([stem.at(t, a), stem.at(t + 0.016, a + 0.01), stem.at(t + 0.034, a)], 0.14)


def _hole(figure: Figure, stem: Stem, random: Random, high: float) -> None:
    _cavity(figure, stem, 0.05, high, 0.5)
    for t in steps(13, 0.1, high * 0.95):
        figure.hatch([stem.at(t, 0.06), stem.at(t + 0.006, 0.25), stem.at(t + 0.012, 0.42)], 0.14)


def _stuffing(figure: Figure, stem: Stem, random: Random, high: float) -> None:
    figure.line([stem.at(t, 0.42 + 0.04 * math.sin(25 * t)) for t in steps(30, 0.05, high)], HAIR)
    for _ in range(30):
        t, a = random.uniform(0.07, high * 0.95), random.uniform(0.08, 0.34)
        r = 0.05 * stem.width
        x, y = stem.at(t, a)
        figure.stroke([(x - r, y), (x, y + r), (x + r, y), (x, y - r * 0.8)], 0.15)


def _chambers(figure: Figure, stem: Stem, random: Random, high: float) -> None:
    count = 6
    for k in range(count):
        low = 0.05 + (high - 0.07) * k / count
        _cavity(figure, stem, low, low + (high - 0.07) / count * random.uniform(0.62, 0.85), 0.58)


def _cavity(figure: Figure, stem: Stem, low: float, high: float, across: float) -> None:
    rounding = [
        math.sin(math.pi * min(1.0, 0.06 + 1.5 * min(s, 1 - s))) ** 0.4 if min(s, 1 - s) < 0.3 else 1.0
        for s in steps(14)
    ]
    side = [stem.at(low + (high - low) * s, across * r) for s, r in zip(steps(14), rounding, strict=True)]
    axis = [(stem.middle(high), high * stem.length), (stem.middle(low), low * stem.length)]
    figure.shape([*side, *axis], FINE, "wash")


INSIDES: dict[str, Callable[[Figure, Stem, Random, float], None]] = {
    "solid": _flesh, "hollow": _hole, "stuffed": _stuffing, "chambered": _chambers,
}  # fmt: skip
