"""Heads with pits or with folds like a brain, on a stem: the left half as found, the right half cut."""

import math

from curriculum.compute.drawing.curves import Point, between, blob, inside, mirrored, splined, steps
from curriculum.compute.drawing.fungus import Sizes, sizes_of
from curriculum.compute.drawing.ground import WOOD, draw_ground
from curriculum.compute.drawing.pen import FINE, Figure, Size
from curriculum.compute.drawing.specimen import Specimen
from curriculum.compute.drawing.stem import Stem, draw_inside, draw_stem, draw_stem_surface, shade_stem
from curriculum.compute.drawing.united import base_of
from curriculum.compute.drawing.wrappings import draw_base

# Half outlines: x in half widths, y in half widths over the head's lower edge; from the top to where the stem meets it.
HEADS: dict[str, tuple[Point, ...]] = {
    "honeycomb": ((0, 2.5), (0.3, 2.42), (0.66, 1.95), (0.92, 1.25), (1, 0.66), (0.84, 0.14), (0.5, 0)),
    "brain": ((0, 1.35), (0.34, 1.42), (0.66, 1.2), (0.94, 0.92), (1, 0.5), (0.9, 0.12), (0.55, -0.02)),
    "thimble": ((0, 1.5), (0.36, 1.4), (0.68, 1.06), (0.88, 0.5), (1, 0), (0.9, 0.04), (0.42, 1.0)),
    "half_free": ((0, 1.7), (0.28, 1.55), (0.6, 1.02), (0.86, 0.44), (1, 0), (0.88, 0.06), (0.55, 0.62)),
}


def head_on_stem(specimen: Specimen) -> Figure:
    """A morel-like or brain-like head to scale; how it is joined to the stem shows on the cut."""
    sizes = sizes_of(specimen)
    figure = Figure(specimen.taxon, measured=bool(sizes.recorded))
    form, joined = specimen.state("form"), specimen.state("cap_joining")
    kind = {"top_only": "thimble", "half_free": "half_free"}.get(joined, form)
    stem = Stem(sizes.length, min(sizes.width, 0.85 * sizes.cap), specimen.state("stem_shape"), base_of(specimen))
    half = _half(kind, sizes, stem)
    substrate = specimen.state("substrate")
    draw_ground(
        figure, substrate, 0.95 * sizes.cap, 0.75 * stem.width, 0.0 if substrate in WOOD else 0.05 * stem.length
    )
    _stem(figure, specimen, stem, sizes)
    _head(figure, specimen, half, stem, form, kind)
    figure.line(
        [*reversed(mirrored(half)), *half[1:]],
        sizes=[Size("cap_width", sizes.cap)] if "cap_width" in sizes.recorded else [],
    )
    _anchors(figure, half, stem)
    return figure


def _half(kind: str, sizes: Sizes, stem: Stem) -> list[Point]:
    radius = sizes.cap / 2
    dense = splined([(x * radius, y * radius) for x, y in HEADS[kind]], 5)
    widest = max(x for x, _ in dense)
    lift = stem.length - dense[-1][1]
    return [(max(x * radius / widest, 0.0), y + lift) for x, y in dense]


def _stem(figure: Figure, specimen: Specimen, stem: Stem, sizes: Sizes) -> None:
    wanted = (Size("stem_length", sizes.length, "height"), Size("stem_width", sizes.width, "middle"))
    left = draw_stem(figure, stem, [size for size in wanted if size.character in sizes.recorded], stem.length)
    shade_stem(figure, stem, left, stem.length)
    draw_stem_surface(figure, stem, specimen.state("stem_surface"), left, stem.length)
    draw_base(figure, stem, stem.base)


def _head(figure: Figure, specimen: Specimen, half: list[Point], stem: Stem, form: str, kind: str) -> None:
    top, low = half[0][1], half[-1]
    whole = [*half, (0, low[1])]
    hem = min(range(len(half)), key=lambda i: half[i][1])
    left = mirrored([*half[: hem + 1], (0, half[hem][1])])
    figure.area(left)
    figure.area(whole)
    (_pits if form == "honeycomb" else _folds)(figure, left, half, top)
    section = specimen.state("cut_section")
    if section == "hollow" and kind in ("honeycomb", "brain"):
        _one_hollow(figure, half, stem)
    elif section == "chambers" or kind == "brain":
        _chambers(figure, whole, section)
        draw_inside(figure, stem, specimen.state("stem_inside"), stem.length)
    else:
        draw_inside(figure, stem, specimen.state("stem_inside"), stem.length)
        _wall(figure, half, stem)
    if specimen.drawn.get("cap_joining") == "several_points":
        _bridges(figure, half, stem)
    figure.line([left[-2], left[-1]], FINE)
    figure.line([(0, top), (0, low[1])], FINE)


def _pits(figure: Figure, room: list[Point], half: list[Point], top: float) -> None:
    """Irregular pits in rough rows, dark within, ridges standing pale between."""
    random, low = figure.random("pits"), min(y for _, y in half)
    radius = max(x for x, _ in half)
    rows = max(5, round((top - low) / (0.3 * radius)))
    for r in range(rows):
        y = low + (top - low) * (r + 0.5) / rows
        for c in range(4):
            at = (
                -radius * (0.14 + 0.26 * (c + 0.5 * (r % 2)) + random.uniform(-0.03, 0.03)),
                y + random.uniform(-0.04, 0.04) * radius,
            )
            squeeze = max(0.45, math.cos(min(1.3, -at[0] / radius * 1.25)))
            pit = blob(random, at, 0.13 * radius * squeeze, 0.135 * radius, 0.18, 11)
            if all(inside(p, room) for p in pit):
                _pit(figure, pit, at, radius)


def _pit(figure: Figure, pit: list[Point], at: Point, radius: float) -> None:
    figure.shape(pit, FINE * 1.2, "wash")
    for share in (0.84, 0.62):
        rim = [between(at, pit[k % len(pit)], share) for k in range(1, 1 + len(pit) // 2)]
        figure.hatch(rim, 0.34 * share, head=0.5)


def _folds(figure: Figure, room: list[Point], half: list[Point], top: float) -> None:
    """Winding swollen folds: short thick curves that never cross the outline."""
    random, low = figure.random("folds"), min(y for _, y in half)
    radius = max(x for x, _ in half)
    for r in range(7):
        for c in range(4):
            x, y = -radius * (0.12 + 0.26 * c), low + (top - low) * (r + 0.5) / 7
            w, h = radius * 0.16, (top - low) * 0.07
            turn, phase = random.choice((-1, 1)), random.uniform(-0.4, 0.4)
            points = [(x + w * (2 * s - 1), y + h * turn * math.sin(5 * s + phase) * 1.2) for s in steps(14)]
            figure.stroke(points, 0.46, head=0.4, within=room)
            figure.hatch([(px + 0.03 * radius, py - 0.045 * radius) for px, py in points[3:11]], 0.22, within=room)


def _one_hollow(figure: Figure, half: list[Point], stem: Stem) -> None:
    """Head and stem are one hollow, open from top to base."""
    wall = 0.14
    head = [(x * (1 - wall), half[-1][1] + (y - half[-1][1]) * (1 - 0.5 * wall)) for x, y in half]
    down = [stem.at(t, 0.62) for t in steps(12, 0.97, 0.06)]
    room = [*[p for p in head if p[1] > stem.length], *down, (stem.middle(0.06), 0.06 * stem.length)]
    figure.shape([*room, (0, head[0][1])], FINE * 1.2, "wash")


def _chambers(figure: Figure, room: list[Point], section: str) -> None:
    random = figure.random("chambers")
    if section not in ("chambers", "hollow"):
        return
    xs, ys = [x for x, _ in room], [y for _, y in room]
    for r in range(3):
        for c in range(3):
            at = (max(xs) * (0.2 + 0.27 * c), min(ys) + (max(ys) - min(ys)) * (0.24 + 0.26 * r))
            cell = blob(random, at, 0.115 * max(xs), 0.1 * (max(ys) - min(ys)), 0.2)
            if all(inside(p, room) for p in cell):
                figure.shape(cell, FINE, "wash")


def _bridges(figure: Figure, half: list[Point], stem: Stem) -> None:
    """Strips of flesh between stem and head, with gaps between them."""
    top, low = half[0][1], half[-1][1]
    for share in (0.22, 0.5):
        y, x = low + (top - low) * share, max(px for px, _ in half) * 0.62
        strip = [
            (stem.half(0.98), y),
            (x, y + 0.05 * (top - low)),
            (x, y + 0.12 * (top - low)),
            (stem.half(0.98), y + 0.08 * (top - low)),
        ]
        figure.shape(strip, FINE)


def _wall(figure: Figure, half: list[Point], stem: Stem) -> None:
    """A thin wall that hangs free of the stem, down to its joint."""
    last = max(range(len(half)), key=lambda i: half[i][0])
    top = half[0][1]
    inner = [(x * 0.9, y - 0.05 * (top - y)) for x, y in half[: last + 1]]
    figure.line([p for p in inner if p[0] > stem.half(0.98)], FINE)


def _anchors(figure: Figure, half: list[Point], stem: Stem) -> None:
    middle = half[len(half) // 3]
    figure.anchor("cap_shape", (-middle[0], middle[1]))
    figure.anchor("form", (-middle[0] * 0.6, middle[1] - 0.1 * stem.length))
    figure.anchor("cap_joining", half[-1])
    figure.anchor("cut_section", (middle[0] * 0.4, middle[1]))
    figure.anchor("stem_inside", stem.at(0.4, 0.3))
    figure.anchor("stem_surface", stem.at(0.4, -0.7))
