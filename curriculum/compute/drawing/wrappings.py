"""What wrappings leave on a stem: ring, cobweb veil, bag, warts. Widths are common practice of drawing, no source."""

import math
from collections.abc import Callable
from random import Random

from curriculum.compute.drawing.curves import Point, ellipse, mirrored, steps
from curriculum.compute.drawing.pen import FINE, HAIR, OUTLINE, Figure
from curriculum.compute.drawing.stem import Stem


def draw_ring(figure: Figure, stem: Stem, ring: str, rim: Point, radius: float) -> None:
    """The ring at three quarters of the stem's free part; a cobweb hangs from the edge of the cap (`rim`)."""
    draw = RINGS.get(ring)
    if draw:
        draw(figure, stem, rim, radius)


def _level(stem: Stem, rim: Point) -> float:
    """Height of the ring on the stem: below the cap's edge, above the middle where there is room."""
    free = min(stem.length, rim[1]) / stem.length
    return max(0.3, free * 0.86)


def _skirt(figure: Figure, stem: Stem, rim: Point, radius: float) -> None:
    t, drop = _level(stem, rim), min(0.13 * stem.length, 1.0 * stem.width + 0.07 * radius)
    flare = max(0.42 * stem.width, 0.1 * radius)
    x0, y0 = stem.at(t, -1)
    middle = stem.middle(t)
    out = x0 - flare
    hem = [
        (
            out + (middle - out) * s,
            y0 - drop - 0.12 * drop * math.sin(math.pi * s / 2) + 0.035 * drop * math.sin(17 * s),
        )
        for s in steps(12)
    ]
    side = [(x0, y0), (x0 - flare * 0.45, y0 - drop * 0.3), (x0 - flare * 0.85, y0 - drop * 0.72), hem[0]]
    figure.area([*side, *hem[1:], (middle, y0 - 0.06 * drop)])
    figure.line(side)
    figure.line(hem)
    figure.line([(x0, y0), ((x0 + middle) / 2, y0 - 0.06 * drop), (middle, y0 - 0.08 * drop)], FINE)
    for k in range(1, 8):
        top, end = x0 + (middle - x0) * k / 8, hem[round(12 * k / 8)]
        figure.stroke(
            [
                (top, y0 - 0.1 * drop),
                ((top + end[0]) / 2 - flare * 0.03, y0 - drop * 0.5),
                (end[0], end[1] + 0.06 * drop),
            ],
            0.18,
        )
    figure.line([(2 * middle - x, y) for x, y in side], OUTLINE * 1.5)
    figure.anchor("ring", (x0 - flare * 0.75, y0 - drop * 0.6))


def _collar(figure: Figure, stem: Stem, rim: Point, radius: float) -> None:
    t = _level(stem, rim)
    flare, drop = max(0.28 * stem.width, 0.035 * radius), max(0.22 * stem.width, 0.04 * radius)
    x0, y0 = stem.at(t, -1)
    middle = stem.middle(t)
    ring = [
        (x0, y0),
        (x0 - flare, y0 - drop * 0.5),
        (x0 - flare * 0.8, y0 - drop),
        (x0, y0 - drop * 1.2),
        (middle, y0 - drop * 1.5),
        (middle, y0 - drop * 0.4),
    ]
    figure.area(ring)
    figure.line(ring, OUTLINE * 0.8)
    figure.line([(2 * middle - x, y) for x, y in ring[:4]], OUTLINE * 1.2)
    figure.anchor("ring", (x0 - flare, y0 - drop * 0.6))


def _sliding(figure: Figure, stem: Stem, rim: Point, radius: float) -> None:
    """A thick double ring, free of the stem: a gap stays between."""
    t = _level(stem, rim)
    flare, drop = max(0.7 * stem.width, 0.13 * radius), max(0.7 * stem.width, 0.14 * radius)
    x0, y0 = stem.at(t, -1)
    middle, gap = stem.middle(t), 0.12 * stem.width
    profile = [
        (x0 - gap, y0 + 0.12 * drop),
        (x0 - flare, y0 + 0.26 * drop),
        (x0 - flare * 0.9, y0 - 0.04 * drop),
        (x0 - flare * 0.95, y0 - 0.42 * drop),
    ]
    lower = [profile[3], (x0 - flare * 0.3, y0 - 0.62 * drop), (middle, y0 - 0.72 * drop)]
    upper = [profile[1], (x0 - flare * 0.3, y0 + 0.1 * drop), (middle, y0)]
    figure.area([*profile, *lower[1:], (middle, y0 + 0.26 * drop)])
    for line in ([*profile[1:], *lower[1:]], upper, [profile[1], profile[0], (middle, y0 + 0.3 * drop)]):
        figure.line(line, OUTLINE * 0.85)
    for k in range(1, 6):
        x = x0 - flare * 0.5 + (middle - x0 + flare * 0.5) * k / 6
        figure.stroke(
            [(x, y0 - 0.1 * drop), (x - 0.02 * flare, y0 - 0.35 * drop), (x - 0.05 * flare, y0 - 0.58 * drop)], 0.2
        )
    cut = [*profile, (x0 - gap, y0 - 0.5 * drop)]
    figure.shape([(2 * middle - x, y) for x, y in cut], OUTLINE * 0.85)
    figure.anchor("ring", (x0 - flare, y0 - 0.2 * drop))


def _traces(figure: Figure, stem: Stem, rim: Point, radius: float) -> None:
    t, random = _level(stem, rim), figure.random("ring")
    for a in (-0.95, -0.66, -0.34, -0.08):
        x, y = stem.at(t + random.uniform(-0.012, 0.012), a)
        w = 0.1 * stem.width
        figure.shape([(x - w, y), (x, y + w * 0.5), (x + w, y), (x + w * 0.2, y - w * 1.2)], HAIR)
    figure.anchor("ring", stem.at(t, -0.95))


def _cobweb(figure: Figure, stem: Stem, rim: Point, radius: float) -> None:
    """Threads from the edge of the cap to the stem, on the cut side, where they can be seen."""
    random, t = figure.random("ring"), _level(stem, rim)
    for k in range(9):
        end = stem.at(t - 0.012 * k + random.uniform(-0.01, 0.01), 1)
        start = (rim[0] * (0.985 - 0.012 * k), rim[1] - 0.004 * radius)
        sag = (start[0] * 0.45 + end[0] * 0.55, start[1] * 0.4 + end[1] * 0.6 - 0.02 * radius * k / 4)
        figure.stroke([start, sag, end], 0.14)
    figure.anchor("ring", (rim[0] * 0.6 + stem.at(t, 1)[0] * 0.4, rim[1] * 0.62 + stem.at(t, 1)[1] * 0.38))


RINGS: dict[str, Callable[[Figure, Stem, Point, float], None]] = {
    "hanging": _skirt, "narrow": _collar, "movable": _sliding, "traces": _traces, "cobweb": _cobweb,
}  # fmt: skip


def draw_base(figure: Figure, stem: Stem, base: str) -> None:
    """What stands about the base: the bag, rings of warts, the rim of a bulb, the neighbours."""
    draw = DRAWN_BASES.get(base)
    if draw:
        draw(figure, stem, figure.random("base"))
    if base:
        figure.anchor("stem_base", stem.at(0.05, -0.95))
        figure.anchor("volva", figure.anchors["stem_base"])


def _bag(figure: Figure, stem: Stem, random: Random) -> None:
    w, h = 1.32 * stem.half(0.06), min(0.24 * stem.length, 2.3 * stem.width)
    left = [(0, -0.16 * h), (-w * 0.7, -0.13 * h), (-w * 1.12, 0.08 * h), (-w * 1.22, 0.36 * h), (-w * 1.16, 0.66 * h)]
    mouth = [(-w * 1.34, 1.06 * h), (-w * 1.02, 0.84 * h), (-w * 0.72, 1.0 * h), (-w * 0.42, 0.78 * h), (0, 0.9 * h)]
    outline = [*left, *mouth]
    figure.area([*outline, (0, -0.16 * h)])
    figure.line(outline)
    for k in range(8):
        x = -w * (1.06 - 0.13 * k)
        figure.hatch(
            [(x * 0.86, -0.05 * h), (x * 1.03, 0.3 * h), (x, h * random.uniform(0.55, 0.75))], 0.22, within=outline
        )
    figure.line(mirrored([*left, (-w * 1.2, 0.9 * h), (-w * 1.36, 1.08 * h)]), OUTLINE * 1.6)
    figure.anchors["stem_base"] = (-w * 1.2, 0.4 * h)


def _warty(figure: Figure, stem: Stem, random: Random) -> None:
    for q in (0.35, 0.65, 0.95, 1.25):
        t = min(q * stem.width / stem.length, 0.3)
        for a in steps(4, -0.97, -0.12):
            x, y = stem.at(t + random.uniform(-0.005, 0.005), a)
            r = 0.11 * stem.width
            figure.shape(
                [(x - r, y - r * 0.4), (x - r * 0.5, y + r * 0.4), (x + r * 0.5, y + r * 0.4), (x + r, y - r * 0.4)],
                FINE,
            )


def _rimmed(figure: Figure, stem: Stem, random: Random) -> None:
    """The flat upper rim of the bulb, seen from a little above."""
    y = min(0.6 * stem.width, 0.2 * stem.length)
    half = stem.half(y / stem.length)
    figure.line([(-half * math.cos(a), y - 0.14 * half * math.sin(a)) for a in steps(8, 0, math.pi / 2)], FINE)


def _neighbours(figure: Figure, stem: Stem, random: Random) -> None:
    """Stems of neighbours, cut off, grown together with this one at the base."""
    w, tall = stem.width, min(0.3 * stem.length, 3.2 * stem.width)
    for side, share in ((-1, 1.0), (1, 0.8)):
        height = tall * share
        inner = [(side * w * (0.2 + 0.75 * s**1.5), height * s) for s in steps(6)]
        outer = [(side * w * (0.62 + 1.05 * s**1.5), height * (s - 0.06 * s)) for s in steps(6)]
        (x0, y0), (x1, y1) = inner[-1], outer[-1]
        figure.area([*inner, *reversed(outer)])
        figure.line(inner, OUTLINE * 0.7)
        figure.line(outer, OUTLINE * 0.7)
        figure.shape(ellipse(((x0 + x1) / 2, (y0 + y1) / 2), abs(x1 - x0) / 2, 0.13 * w), FINE)
        for a in (0.25, 0.5):
            side_line = [(p[0] + (q[0] - p[0]) * a, p[1]) for p, q in zip(inner, outer, strict=True)][1:-1]
            figure.hatch(side_line, 0.2)


DRAWN_BASES: dict[str, Callable[[Figure, Stem, Random], None]] = {
    "bag": _bag, "warty_bulb": _warty, "rimmed_bulb": _rimmed, "joined": _neighbours,
}  # fmt: skip
