"""Leaves: blade by shape, base and margin, veins, surface, stalk, and the ways in which a leaf is divided.

A leaf is drawn with its foot at the origin and its tip upwards. Outlines follow the words of the vocabulary; where the
width is not recorded the proportion is one usual for the word, common practice of drawing, no source.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from curriculum.compute.drawing.curves import Point, along, blob, box, inside, mirrored, moved, splined, steps
from curriculum.compute.drawing.pen import FINE, HAIR, OUTLINE, Figure, Size

# Width as a share of length, then the right half outline: (width share, height share) from the foot to the tip.
BLADES: dict[str, tuple[float, tuple[Point, ...]]] = {
    "oval": (0.56, ((0, 0), (0.5, 0.04), (0.9, 0.2), (1, 0.4), (0.84, 0.64), (0.46, 0.86), (0, 1))),
    "elliptic": (0.36, ((0, 0), (0.4, 0.08), (0.82, 0.26), (1, 0.5), (0.82, 0.74), (0.4, 0.92), (0, 1))),
    "lance": (0.25, ((0, 0), (0.55, 0.08), (1, 0.3), (0.82, 0.55), (0.42, 0.8), (0, 1))),
    "heart_base": (
        0.7,
        ((0, 0), (0.3, -0.07), (0.74, -0.06), (1, 0.12), (0.95, 0.34), (0.7, 0.6), (0.3, 0.86), (0, 1)),
    ),
    "arrow_base": (
        0.62,
        ((0, 0), (0.34, -0.1), (0.82, -0.28), (0.9, -0.2), (0.8, 0.06), (0.72, 0.3), (0.42, 0.7), (0, 1)),
    ),
    "round": (0.96, ((0, 0), (0.56, 0.08), (0.92, 0.3), (1, 0.52), (0.84, 0.78), (0.46, 0.95), (0, 1))),
    "triangular": (0.78, ((0, 0), (0.6, -0.02), (0.98, 0.04), (0.9, 0.2), (0.5, 0.6), (0.2, 0.88), (0, 1))),
    "diamond": (0.66, ((0, 0), (0.5, 0.2), (1, 0.44), (0.5, 0.76), (0, 1))),
    "wedge": (0.62, ((0, 0), (0.26, 0.24), (0.62, 0.56), (1, 0.82), (0.7, 0.94), (0, 1))),
    "linear": (0.07, ((0, 0), (0.8, 0.06), (1, 0.4), (0.8, 0.8), (0, 1))),
    "strap": (0.14, ((0, 0), (0.86, 0.04), (1, 0.4), (0.94, 0.78), (0.6, 0.94), (0, 1))),
    "spoon": (0.4, ((0, 0), (0.18, 0.1), (0.3, 0.36), (0.74, 0.56), (1, 0.76), (0.7, 0.95), (0, 1))),
    "heart_tip": (0.95, ((0, 0), (0.36, 0.24), (0.8, 0.58), (1, 0.82), (0.78, 1), (0.36, 1), (0, 0.86))),
    "kidney": (1.15, ((0, 0), (0.3, -0.12), (0.74, -0.1), (1, 0.3), (0.9, 0.68), (0.5, 0.94), (0, 1))),
    "cylinder": (0.1, ((0, 0), (0.8, 0.04), (1, 0.2), (1, 0.8), (0.7, 0.97), (0, 1))),
    "scale": (0.9, ((0, 0), (0.8, 0.06), (1, 0.3), (0.6, 0.7), (0, 1))),
    "fan": (0.95, ((0, 0), (0.3, 0.3), (0.8, 0.66), (1, 0.84), (0.6, 0.97), (0, 1))),
    "jagged": (0.5, ((0, 0), (0.4, 0.1), (1, 0.2), (0.5, 0.34), (0.92, 0.48), (0.44, 0.6), (0.6, 0.74), (0, 1))),
}
NEUTRAL = "elliptic"
STALKS = {
    "none": 0.0,
    "short": 0.16,
    "long": 0.62,
    "winged": 0.4,
    "sheath": 0.4,
    "triangular": 0.4,
    "channelled": 0.4,
    "hollow": 0.4,
}
TEETH = {
    "finely_toothed": (26, 0.035),
    "coarsely_toothed": (11, 0.085),
    "saw_toothed": (16, 0.06),
    "spiny": (9, 0.12),
    "blunt_toothed": (14, 0.045),
}
FEWER = 0.4
CROWDED = 5
LOBES = {"lobed": (3, 0.42), "cut": (5, 0.62)}


@dataclass(frozen=True, slots=True)
class Leaf:
    """What a leaf is like, in words of the vocabulary ("" where unknown); lengths in mm, width 0 where not recorded.

    `length` is that of the blade, or of a leaflet where the leaf is divided. `fine` asks for veins and surface.
    """

    length: float
    width: float
    shape: str
    base: str
    margin: str
    veins: str
    hairs: str
    marks: str
    shine: str
    stalk: str
    division: str
    leaflets: int
    fine: bool = True


def half_width(leaf: Leaf) -> float:
    """Half of the blade's greatest width in mm."""
    return (leaf.width or BLADES.get(leaf.shape, BLADES[NEUTRAL])[0] * leaf.length) / 2


def undivided(figure: Figure, leaf: Leaf, sizes: tuple[Size, ...]) -> None:
    long = STALKS.get(leaf.stalk, 0.2) * leaf.length
    if long:
        stalk(figure, leaf, long)
    blade(figure, leaf, (0.0, long), 0.0, sizes)


def stalk(figure: Figure, leaf: Leaf, length: float) -> None:
    w = 0.016 * leaf.length
    foot = {"sheath": 4.5, "winged": 2.6}.get(leaf.stalk, 1.3)
    left = [(-w * foot, 0.0), (-w * (foot + 1) / 2, length * 0.3), (-w, length * 0.6), (-w, length * 1.04)]
    if leaf.stalk == "winged":
        left = [(-w * 1.2, 0.0), (-w * 2.8, length * 0.4), (-w * 3, length * 0.8), (-w, length * 1.04)]
    figure.area([*left, *reversed(mirrored(left))])
    for side in (left, mirrored(left)):
        if leaf.stalk:
            figure.line(side, OUTLINE * 0.7)
        else:
            figure.line(side, FINE, dotted=True)
    if leaf.stalk in ("channelled", "triangular", "hollow"):
        figure.line([(0, 0.04 * length), (0, length * 0.5), (0, length)], HAIR)


def blade(figure: Figure, leaf: Leaf, at: Point, turn: float, sizes: tuple[Size, ...] = (), scale: float = 1.0) -> None:
    """One blade or leaflet with its foot at a point."""
    part = Figure(figure.taxon)
    right, left = _edges(leaf)
    smooth = [*left, *reversed(right[:-1])]
    outline = toothed(left, right, leaf.margin, fine=leaf.fine)
    low, _, high, _ = box(splined([*outline, outline[0]]))
    outline = [(x * 2 * half_width(leaf) / (high - low), y) for x, y in outline]
    part.shape(outline, OUTLINE * (0.85 if leaf.fine else 0.7), sizes=sizes)
    _veins(part, leaf, right, left, smooth)
    if leaf.fine:
        _surface(part, leaf, smooth)
    placed = [replace(mark, points=tuple(moved(mark.points, *at, scale, turn))) for mark in part.marks]
    figure.marks += placed


def _edges(leaf: Leaf) -> tuple[list[Point], list[Point]]:
    """The right and the left edge from foot to tip, without teeth."""
    points = BLADES.get(leaf.shape, BLADES[NEUTRAL])[1]
    half = half_width(leaf)
    right = splined([(x * half, y * leaf.length) for x, y in points], 6)
    widest = max(x for x, _ in right)
    right = [(x * half / widest, y) for x, y in right]
    right = _based(right, leaf, half)
    left = mirrored(right)
    if leaf.base == "uneven":
        left = [
            (x, y + 0.1 * leaf.length * max(0.0, 1 - y / (0.4 * leaf.length))) if y < 0.4 * leaf.length else (x, y)
            for x, y in left
        ]
        left = [(0.0, 0.0), *[p for p in left if p[1] > 0.03 * leaf.length]]
    return right, left


def _based(right: list[Point], leaf: Leaf, half: float) -> list[Point]:
    """The foot of the blade by its own word, where the shape does not tell it already."""
    length = leaf.length
    starts: dict[str, list[Point]] = {
        "narrowed": [(0.0, 0.0), (0.05 * half, 0.02 * length), (0.22 * half, 0.09 * length)],
        "sheathing": [(0.24 * half, 0.0), (0.3 * half, 0.06 * length), (0.42 * half, 0.12 * length)],
        "heart": [
            (0.0, 0.0),
            (0.2 * half, -0.06 * length),
            (0.62 * half, -0.06 * length),
            (0.88 * half, 0.06 * length),
        ],
        "lobes_back": [
            (0.0, 0.0),
            (0.3 * half, -0.1 * length),
            (0.74 * half, -0.26 * length),
            (0.8 * half, -0.16 * length),
            (0.7 * half, 0.04 * length),
        ],
    }
    start = starts.get(leaf.base)
    if not start or leaf.shape in ("arrow_base", "heart_base", "linear"):
        return right
    return splined([*start, *[p for p in right[::4] if p[1] > start[-1][1] + 0.09 * length][:-1], right[-1]], 4)


def toothed(left: list[Point], right: list[Point], margin: str, *, fine: bool = True) -> list[Point]:
    """The closed outline of a blade: up the left edge, down the right, with what the margin's word puts on it.

    On a leaf that is drawn small the teeth are fewer, or they would run together.
    """
    cut = CUTS.get(margin)
    edges = [cut(edge, margin, 1.0 if fine else FEWER) if cut else edge for edge in (left, right)]
    return [*edges[0], *reversed(edges[1][:-1])]


def _saw(edge: list[Point], margin: str, share: float) -> list[Point]:
    """Teeth that point to the tip; they stand inside the smooth outline, so that the width stays as recorded."""
    count, depth = max(5, round(TEETH[margin][0] * share)), TEETH[margin][1]
    wide = max(abs(x) for x, _ in edge)
    out: list[Point] = [edge[0]]
    for k in range(count):
        t = 0.07 + 0.89 * k / count
        step = 0.89 / count
        out += [_inward(along(edge, t + step * 0.12), depth * wide), along(edge, t + step * 0.92)]
    return [*out, edge[-1]]


def _inward(point: Point, depth: float) -> Point:
    x, y = point
    return (x - math.copysign(min(depth, abs(x) * 0.5), x) if x else 0.0), y


def _scallop(edge: list[Point], margin: str, share: float) -> list[Point]:
    count, depth = max(5, round(TEETH[margin][0] * share)), TEETH[margin][1]
    wide = max(abs(x) for x, _ in edge)
    out: list[Point] = [edge[0]]
    for k in range(count):
        t, step = 0.06 + 0.9 * k / count, 0.9 / count
        out += [_inward(along(edge, t), depth * wide), along(edge, t + step * 0.3), along(edge, t + step * 0.72)]
    return [*out, edge[-1]]


def _lobe(edge: list[Point], margin: str, share: float) -> list[Point]:
    count, depth = LOBES[margin]
    out: list[Point] = [edge[0]]
    for k in range(count):
        t, step = 0.1 + 0.84 * k / count, 0.84 / count
        x, y = along(edge, t)
        out += [(x * (1 - depth), y), along(edge, t + step * 0.34), along(edge, t + step * 0.72)]
    return [*out, edge[-1]]


def _wave(edge: list[Point], margin: str, share: float) -> list[Point]:
    return [(x * (1 - 0.05 - 0.05 * math.sin(40 * i / len(edge))), y) for i, (x, y) in enumerate(edge)]


CUTS: dict[str, Callable[[list[Point], str, float], list[Point]]] = {
    **dict.fromkeys(("finely_toothed", "coarsely_toothed", "saw_toothed", "spiny"), _saw),
    "blunt_toothed": _scallop, "lobed": _lobe, "cut": _lobe, "wavy": _wave,
}  # fmt: skip


def _veins(figure: Figure, leaf: Leaf, right: list[Point], left: list[Point], smooth: list[Point]) -> None:
    tip = (0.0, leaf.length * 0.97)
    middle = [(0.0, 0.0), (0.0, leaf.length * 0.5), tip]
    if leaf.veins == "not_seen":
        return
    if not leaf.veins:
        figure.line(middle, FINE, dotted=True)
        return
    figure.stroke([(0.0, leaf.length * s) for s in steps(6, 0, 0.97)], 0.34, head=0.05)
    if leaf.veins == "parallel":
        _parallel(figure, leaf, smooth)
    elif leaf.veins == "arched":
        _arched(figure, leaf, smooth)
    elif leaf.veins in ("net", "margin_vein"):
        _net(figure, leaf, right, left, smooth)
    if leaf.margin == "rolled":
        figure.line([(x * 0.9, y) for x, y in right[1:-1]], HAIR)
        figure.line([(x * 0.9, y) for x, y in left[1:-1]], HAIR)


def _parallel(figure: Figure, leaf: Leaf, smooth: list[Point]) -> None:
    right = BLADES.get(leaf.shape, BLADES[NEUTRAL])[1]
    edge = splined([(x * half_width(leaf), y * leaf.length) for x, y in right], 4)
    for share in (-0.72, -0.46, -0.22, 0.22, 0.46, 0.72) if leaf.fine else (-0.5, 0.5):
        figure.stroke([(x * share, y) for x, y in edge], 0.18, head=0.3, within=smooth)


def _arched(figure: Figure, leaf: Leaf, smooth: list[Point]) -> None:
    _parallel(figure, replace(leaf, fine=False), smooth)
    half = half_width(leaf)
    for k in range(9 if leaf.fine else 0):
        y = leaf.length * (0.14 + 0.08 * k)
        for side in (-1, 1):
            figure.stroke(
                [(0, y), (side * half * 0.2, y + 0.015 * leaf.length), (side * half * 0.42, y)], 0.14, within=smooth
            )


def _net(figure: Figure, leaf: Leaf, right: list[Point], left: list[Point], smooth: list[Point]) -> None:
    """Side veins that curve to the edge; finer ones between them; a vein along the edge where it is recorded."""
    pairs = 6 if leaf.fine else 3 if leaf.leaflets < CROWDED else 0
    for edge in (right, left):
        for k in range(pairs):
            foot = leaf.length * (0.05 + 0.78 * k / pairs)
            end = along(edge, min(0.98, 0.3 + 0.64 * k / pairs))
            reach = 0.86 if leaf.veins == "margin_vein" else 0.95
            bend = (end[0] * 0.5, foot + (end[1] - foot) * 0.34)
            figure.stroke(
                splined([(0.0, foot), bend, (end[0] * reach, foot + (end[1] - foot) * reach)], 4),
                0.2,
                head=0.1,
                within=smooth,
            )
            if leaf.fine:
                figure.hatch(
                    [
                        bend,
                        ((bend[0] + end[0]) / 2, bend[1] + 0.035 * leaf.length),
                        (end[0] * 0.8, bend[1] + 0.1 * leaf.length),
                    ],
                    0.12,
                    within=smooth,
                )
        if leaf.veins == "margin_vein":
            figure.line([(x * 0.87, y) for x, y in edge[2:-1] if y < leaf.length * 0.93], HAIR * 1.2)


HAIRS = {"few": (0.035, 12), "hairy": (0.035, 46), "downy": (0.018, 70), "bristly": (0.06, 30), "stinging": (0.05, 26)}
"""How long the hairs are, as a share of the leaf, and how many stand on each edge."""


def _surface(figure: Figure, leaf: Leaf, smooth: list[Point]) -> None:
    for word in (leaf.hairs, leaf.marks, leaf.shine):
        draw = SURFACES.get(word)
        if draw:
            draw(figure, leaf, smooth)


def _hairs(figure: Figure, leaf: Leaf, smooth: list[Point]) -> None:
    random = figure.random(f"leaf/{leaf.hairs}")
    long, gap = HAIRS[leaf.hairs]
    reach = long * leaf.length
    for t in steps(gap, 0.03, 0.97):
        x, y = along(smooth, t)
        out = math.copysign(1.0, x)
        figure.stroke(
            [(x, y), (x + out * reach * 0.6, y + reach * 0.25), (x + out * reach, y + reach * 0.6)], 0.16, head=0.1
        )
    for _ in range(gap):
        x, y = random.uniform(-1, 1) * half_width(leaf), random.uniform(0, 1) * leaf.length
        figure.stroke(
            [(x, y), (x + reach * 0.2, y + reach * 0.4), (x + reach * 0.3, y + reach * 0.8)],
            0.15,
            head=0.15,
            within=smooth,
        )


def _spots(figure: Figure, leaf: Leaf, smooth: list[Point]) -> None:
    random, half = figure.random("leaf spots"), half_width(leaf)
    for _ in range(26):
        at = (random.uniform(-0.9, 0.9) * half, random.uniform(-0.15, 0.92) * leaf.length)
        spot = blob(random, at, 0.06 * half, 0.05 * half, 0.3, 8)
        if all(inside(p, smooth) for p in spot):
            figure.shape(spot, HAIR, "ink" if leaf.marks == "dark_spots" else "paper")


def _bloom(figure: Figure, leaf: Leaf, smooth: list[Point]) -> None:
    random, half = figure.random("leaf bloom"), half_width(leaf)
    for _ in range(90):
        figure.dot((random.uniform(-1, 1) * half, random.uniform(0, 1) * leaf.length), 0.17, within=smooth)


SURFACES: dict[str, Callable[[Figure, Leaf, list[Point]], None]] = {
    **dict.fromkeys(HAIRS, _hairs),
    "dark_spots": _spots, "pale_marks": _spots, "bloom": _bloom, "mealy": _bloom,
}  # fmt: skip
