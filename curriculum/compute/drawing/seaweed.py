"""Seaweeds: the whole frond to its recorded length on its hold, with a piece of blade and the holdfast enlarged."""

import math
from collections.abc import Callable
from random import Random

from curriculum.compute.drawing.blade import Frond, edge_of, midrib, trim
from curriculum.compute.drawing.curves import Point, box, ellipse, mirrored, splined, steps
from curriculum.compute.drawing.frond import draw_frond
from curriculum.compute.drawing.ground import draw_stones
from curriculum.compute.drawing.pen import FINE, HAIR, OUTLINE, Figure, Size
from curriculum.compute.drawing.specimen import Specimen

STIPES = {"minute": 0.02, "short": 0.07, "long_smooth": 0.3, "long_rough": 0.34, "with_leaflets": 0.12, "button": 0.03}
NEUTRAL = 300.0


def frond_of(specimen: Specimen, length: float | None) -> Frond:
    """The frond as recorded; its width in shares of its length, 0 where either is unknown."""
    width = specimen.size("frond_width")
    return Frond(
        specimen.state("frond_form"), specimen.state("branching"), specimen.state("frond_margin"),
        specimen.state("midrib"), specimen.state("bladders"), specimen.state("frond_section"),
        width / length if width and length else 0.0,
    )  # fmt: skip


def whole_frond(specimen: Specimen) -> Figure:
    """From holdfast to tip, to the recorded length."""
    length = specimen.size("frond_length")
    scale = length or NEUTRAL
    frond = frond_of(specimen, length)
    draft = Figure(specimen.taxon)
    stalk = STIPES.get(specimen.state("stipe"), 0.0)
    body = Figure(specimen.taxon)
    draw_frond(body, frond)
    _stalk(draft, specimen.state("stipe"), stalk)
    if body.marks:
        high = body.box()[3]
        draft.include(body, (0.0, stalk), scale=(1 - stalk) / high)
    figure = Figure(specimen.taxon, measured=length is not None)
    _held(figure, specimen, scale)
    figure.include(draft, (0.0, 0.0), scale=scale)
    _anchors(figure, body, scale, stalk)
    if length and figure.marks:
        _measuring_line(figure, length)
    return figure


def _measuring_line(figure: Figure, length: float) -> None:
    right, tick = figure.box()[2] + 0.04 * length, 0.012 * length
    figure.line(
        [(right - tick, 0), (right, 0), (right, length), (right - tick, length)],
        FINE,
        sizes=[Size("frond_length", length, "height")],
    )


def _held(figure: Figure, specimen: Specimen, scale: float) -> None:
    """Holdfast, and stones under it where it is recorded to grow on rock."""
    if specimen.state("substrate") in ("rock", "stones"):
        draw_stones(figure, 0.16 * scale, -0.03 * scale)
    hold = Figure(specimen.taxon)
    draw_holdfast(hold, specimen.state("holdfast"))
    figure.include(hold, (0.0, 0.0), scale=0.07 * scale)
    if hold.marks:
        figure.anchor("holdfast", (0.04 * scale, -0.02 * scale))


def _anchors(figure: Figure, body: Figure, scale: float, stalk: float) -> None:
    if not body.marks:
        return
    x0, _, x1, _ = body.box()
    figure.anchor("frond_form", (x0 * 0.3 * scale, 0.62 * scale))
    figure.anchor("branching", (x1 * 0.25 * scale, 0.7 * scale))
    figure.anchor("midrib", (0.0, 0.45 * scale))
    figure.anchor("bladders", (0.0, 0.4 * scale))
    if stalk:
        figure.anchor("stipe", (0.0, stalk * 0.5 * scale))


def _stalk(draft: Figure, kind: str, length: float) -> None:
    if not length:
        return
    w = 0.03 if kind == "button" else 0.009
    if kind == "button":
        draft.shape(
            [(-0.012, 0), (-0.05, 0.02), (-0.05, 0.03), (0, 0.036), (0.05, 0.03), (0.05, 0.02), (0.012, 0)],
            OUTLINE * 0.9,
        )
        return
    draft.area([(-w, 0), (-w, length), (w, length), (w, 0)])
    for side in (-1, 1):
        draft.line([(side * w, 0), (side * w * 0.8, length * 0.5), (side * w * 0.9, length * 1.02)], OUTLINE * 0.8)
    if kind == "long_rough":
        for s in steps(16, 0.04, 0.94):
            draft.line([(w, length * s), (w * 2, length * s + 0.004), (w, length * s + 0.01)], FINE)
            draft.line([(-w, length * (s + 0.02)), (-w * 2, length * s + 0.01), (-w, length * s + 0.014)], FINE)
    if kind == "with_leaflets":
        for k in range(5):
            for side in (-1, 1):
                y = length * (0.1 + 0.17 * k)
                draft.shape([(0, y), (side * 0.05, y + 0.03), (side * 0.1, y + 0.045), (side * 0.05, y)], FINE)


def draw_holdfast(figure: Figure, kind: str) -> None:
    """The hold under the origin, one unit deep; nothing where it is unknown."""
    draw = HOLDS.get(kind)
    if draw:
        draw(figure, figure.random(f"hold/{kind}"))


def _disc(figure: Figure, random: Random) -> None:
    figure.shape(
        [
            (-0.14, 0.3),
            (-0.2, 0.0),
            (-0.6, -0.28),
            (-0.56, -0.4),
            (0, -0.46),
            (0.56, -0.4),
            (0.6, -0.28),
            (0.2, 0),
            (0.14, 0.3),
        ],
        OUTLINE * 0.9,
    )
    for x in (-0.3, -0.14, 0.05, 0.24):
        figure.hatch([(x * 0.5, -0.02), (x * 0.9, -0.2), (x * 1.5, -0.36)], 0.2)


def _button(figure: Figure, random: Random) -> None:
    _disc(figure, random)
    figure.shape(
        [(-0.14, 0.24), (-0.52, 0.5), (-0.5, 0.66), (0, 0.74), (0.5, 0.66), (0.52, 0.5), (0.14, 0.24)], OUTLINE * 0.9
    )


def _claws(figure: Figure, random: Random) -> None:
    """Branched root-like claws in two tiers."""
    for turn in (-1.25, 1.25, -0.8, 0.85, -0.35, 0.4, 0.02):
        start: Point = (0.1 * math.sin(turn), 0.1)
        middle = (0.55 * math.sin(turn), -0.22 - 0.2 * math.cos(turn))
        for fork in (-0.16, 0.16):
            end = (1.0 * math.sin(turn + fork), -0.5 - 0.42 * math.cos(turn + fork))
            claw = splined([start, middle, end], 5)
            left = [(x - 0.055 * (1 - 0.6 * i / len(claw)), y) for i, (x, y) in enumerate(claw)]
            right = [(x + 0.055 * (1 - 0.6 * i / len(claw)), y) for i, (x, y) in enumerate(claw)]
            figure.shape([*left, *reversed(right)], FINE * 1.3)
    figure.shape([(-0.13, 0.4), (-0.16, 0.05), (0, -0.06), (0.16, 0.05), (0.13, 0.4)], OUTLINE * 0.8)


def _threads(figure: Figure, random: Random) -> None:
    for _ in range(26):
        x, lean = random.uniform(-0.2, 0.2), random.uniform(-0.7, 0.7)
        figure.stroke([(x, 0.1), (x + lean * 0.3, -0.3), (x + lean * 0.8, -0.5), (x + lean, -0.46)], 0.24, head=0.1)


def _runners(figure: Figure, random: Random) -> None:
    figure.shape(
        [
            (-1.6, -0.3),
            (-0.6, -0.22),
            (0, -0.12),
            (0.6, -0.24),
            (1.6, -0.28),
            (1.6, -0.38),
            (0.6, -0.36),
            (0, -0.28),
            (-0.6, -0.34),
            (-1.6, -0.4),
        ],
        OUTLINE * 0.8,
    )
    for x in (-1.2, -0.5, 0.4, 1.1):
        figure.stroke([(x, -0.34), (x + 0.05, -0.5), (x + 0.12, -0.6)], 0.3, head=0.1)


HOLDS: dict[str, Callable[[Figure, Random], None]] = {
    "disc": _disc, "button": _button, "claws": _claws, "threads": _threads, "runners": _runners,
}  # fmt: skip


def hold_view(specimen: Specimen) -> Figure | None:
    """The holdfast enlarged; None where it is unknown."""
    kind = specimen.state("holdfast")
    if kind not in HOLDS:
        return None
    figure = Figure(specimen.taxon, f"holdfast: {specimen.label('holdfast', kind)}", measured=False, tall=16.0)
    draw_holdfast(figure, kind)
    figure.anchor("holdfast", (0.3, -0.3))
    return figure


def piece_view(specimen: Specimen) -> Figure | None:
    """A piece out of the blade or branch: edge, midrib, bladders; to scale where the width is recorded."""
    width = specimen.size("frond_width")
    frond = frond_of(specimen, None)
    if not (frond.margin or frond.midrib):
        return None
    figure = Figure(specimen.taxon, _piece_title(specimen, frond), measured=width is not None, tall=26.0)
    unit = width or 1.0
    draft = Figure(specimen.taxon)
    _piece(draft, frond)
    places = {"frond_margin": (0.5, 0.9), "midrib": (0.0, 0.5), "frond_width": (0.5, 0.3), "bladders": (0.2, 0.7)}
    figure.anchors.update({character: (x * unit, y * unit) for character, (x, y) in places.items()})
    figure.include(draft, (0.0, 0.0), scale=unit)
    if width:
        low, bottom, high, _ = box(point for mark in draft.marks[:1] for point in mark.points)
        y, tick = (bottom - 0.12) * unit, 0.03 * unit
        figure.line(
            [(low * unit, y + tick), (low * unit, y), (high * unit, y), (high * unit, y + tick)],
            FINE,
            sizes=[Size("frond_width", width)],
        )
    return figure


def _piece_title(specimen: Specimen, frond: Frond) -> str:
    told = []
    if frond.margin:
        told.append(f"edge {specimen.label('frond_margin', frond.margin)}")
    if frond.midrib:
        told.append(
            specimen.label("midrib", frond.midrib)
            if frond.midrib == "dimpled_band"
            else f"midrib {specimen.label('midrib', frond.midrib)}"
        )
    return f"a piece: {', '.join(told)}"


def _piece(draft: Figure, frond: Frond) -> None:
    edge = edge_of([(0.5, y) for y in steps(40, 0, 1.3)], frond)
    widest = max(x for x, _ in edge)
    edge = [(x * 0.5 / widest, y) for x, y in edge]
    top: list[Point] = [(0.3, 1.34), (0.1, 1.27), (-0.1, 1.33), (-0.3, 1.28)]
    low: list[Point] = [(-0.3, 0.04), (-0.1, -0.03), (0.1, 0.04), (0.3, -0.02)]
    draft.area([*edge, *top, *reversed(mirrored(edge)), *low])
    for line in (edge, mirrored(edge)):
        draft.line(line, OUTLINE)
    draft.line([edge[-1], *top, mirrored(edge)[-1]], HAIR)
    draft.line([mirrored(edge)[0], *low, edge[0]], HAIR)
    midrib(draft, frond, 0.0, 1.3, 0.5)
    trim(draft, [*reversed(mirrored(edge)), *edge], frond, 0.08)
    if frond.bladders == "paired":
        for side in (-1, 1):
            draft.shape(ellipse((side * 0.24, 0.7), 0.17, 0.24), OUTLINE * 0.7)
    elif frond.bladders == "single":
        draft.shape(ellipse((0, 0.7), 0.3, 0.4), OUTLINE * 0.7)


def section_view(specimen: Specimen) -> Figure | None:
    """The frond cut across; None where its section is unknown."""
    kind = specimen.state("frond_section")
    draw = SECTIONS.get(kind)
    if not draw:
        return None
    figure = Figure(specimen.taxon, f"cut across: {specimen.label('frond_section', kind)}", measured=False, tall=10.0)
    draw(
        figure,
        {"film": 0.03, "thin": 0.06, "thick": 0.13, "cylinder": 0.3}.get(specimen.state("frond_thickness"), 0.07),
        specimen.state("midrib"),
    )
    figure.anchors.update(frond_section=(0.5, 0.0), frond_thickness=(0.75, 0.0))
    return figure


def _flat(figure: Figure, thick: float, rib: str) -> None:
    swell = {"distinct": 0.12, "faint": 0.05}.get(rib, 0.0)
    upper = [(x, thick + swell * math.exp(-((x / 0.12) ** 2))) for x in steps(24, -1, 1)]
    figure.shape([*upper, *[(x, -y) for x, y in reversed(upper)]], OUTLINE * 0.8, "wash")


def _oval(figure: Figure, thick: float, rib: str) -> None:
    figure.shape(ellipse((0, 0), 0.8, 0.28), OUTLINE * 0.8, "wash")


def _round(figure: Figure, thick: float, rib: str) -> None:
    figure.shape(ellipse((0, 0), 0.6, 0.6), OUTLINE * 0.8, "wash")


def _hollow(figure: Figure, thick: float, rib: str) -> None:
    _round(figure, thick, rib)
    figure.shape(ellipse((0, 0), 0.46, 0.46), FINE)


def _channelled(figure: Figure, thick: float, rib: str) -> None:
    outer = [(0.8 * math.cos(a), 0.5 * math.sin(a)) for a in steps(18, math.pi * 0.86, math.pi * 2.14)]
    inner = [(0.6 * math.cos(a), 0.3 * math.sin(a)) for a in steps(18, math.pi * 2.14, math.pi * 0.86)]
    figure.shape([*outer, *inner], OUTLINE * 0.8, "wash")


SECTIONS: dict[str, Callable[[Figure, float, str], None]] = {
    "flat": _flat, "flattened": _oval, "round": _round, "hollow": _hollow, "channelled": _channelled,
}  # fmt: skip
