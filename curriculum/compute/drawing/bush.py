"""Fungi without cap and stem: corals, rosettes, beards and clubs, as found. Their width is drawn to scale."""

import math
from collections.abc import Callable
from random import Random

from curriculum.compute.drawing.curves import Point, along, box, moved, splined, steps
from curriculum.compute.drawing.ground import WOOD, draw_ground, draw_trunk
from curriculum.compute.drawing.pen import FINE, OUTLINE, Figure, Size
from curriculum.compute.drawing.specimen import Specimen


def bush(specimen: Specimen) -> Figure:
    """A fungus of many parts: drawn at one size, then brought to the recorded width."""
    form = specimen.state("form")
    width = specimen.size("cap_width")
    draft = Figure(specimen.taxon)
    DRAW[form](draft, draft.random(form), specimen.state("cap_margin"))
    figure = Figure(specimen.taxon, measured=width is not None)
    low_x, _, high_x, high_y = box(point for mark in draft.marks for point in mark.points)
    k = (width or 60.0) / (high_x - low_x)
    substrate = specimen.state("substrate")
    if form == "beard":
        draw_trunk(figure, substrate, 0.3 * k, -0.9 * k, high_y * k + 0.3 * k)
    else:
        draw_ground(figure, substrate, 0.62 * k * (high_x - low_x), 0.2 * k, 0.0 if substrate in WOOD else 0.06 * k)
    figure.include(draft, (0.0, 0.0), scale=k)
    if width:
        _note_width(figure, k * low_x, k * high_x, width)
    figure.anchor("form", (0.6 * k * high_x, 0.6 * k * high_y))
    figure.anchor("cap_shape", (0.85 * k * low_x, 0.5 * k * high_y))
    figure.anchor("underside", (0.4 * k * high_x, 0.3 * k * high_y))
    return figure


def _note_width(figure: Figure, low: float, high: float, width: float) -> None:
    """A measuring line under the whole, as many parts make up the width."""
    bottom = figure.box()[1] - 0.05 * width
    tick = 0.015 * width
    figure.line(
        [(low, bottom + tick), (low, bottom), (high, bottom), (high, bottom + tick)],
        FINE,
        sizes=[Size("cap_width", width)],
    )


def _coral(figure: Figure, random: Random, margin: str) -> None:
    for root in steps(5, -0.16, 0.16):
        _branch(figure, random, (root, 0.0), math.pi / 2 - root * 4.2, 0.36, 0.085, 4)


def _branch(figure: Figure, random: Random, at: Point, turn: float, length: float, width: float, depth: int) -> None:
    end = (at[0] + length * math.cos(turn), at[1] + length * math.sin(turn))
    side = (math.sin(turn) * width / 2, -math.cos(turn) * width / 2)
    tip = 0.75 if depth else 0.3
    left = [(at[0] - side[0], at[1] - side[1]), (end[0] - side[0] * tip, end[1] - side[1] * tip)]
    right = [(at[0] + side[0], at[1] + side[1]), (end[0] + side[0] * tip, end[1] + side[1] * tip)]
    if depth:
        for fork in (-1, 1):
            _branch(
                figure,
                random,
                end,
                turn + fork * random.uniform(0.2, 0.42),
                length * random.uniform(0.62, 0.82),
                width * 0.72,
                depth - 1,
            )
    figure.area([*left, *reversed(right)])
    figure.line(left, OUTLINE * 0.7)
    figure.line(right, OUTLINE * 0.7)
    if not depth:
        figure.line(
            [left[1], (end[0] + 0.02 * math.cos(turn), end[1] + 0.02 * math.sin(turn)), right[1]], OUTLINE * 0.7
        )


def _rosette(figure: Figure, random: Random, margin: str) -> None:
    """Lobes in tiers, the upper ones behind; wavy ribbons all over where the edge is wavy."""
    for row, (y, reach, count) in enumerate(
        ((0.74, 0.34, 3), (0.6, 0.62, 5), (0.42, 0.82, 6), (0.22, 0.9, 7), (0.04, 0.62, 5))
    ):
        for k in range(count):
            x = reach * (-1 + 2 * (k + 0.5) / count)
            size = random.uniform(0.26, 0.34) * (1 - 0.05 * row)
            _lobe(figure, random, (x, y), size, math.atan2(0.5 + y, x * 0.9) - math.pi / 2)


def _lobe(figure: Figure, random: Random, at: Point, size: float, lean: float) -> None:
    outline = [
        (-0.14, -0.3),
        (-0.5, 0.1),
        (-0.86, 0.5),
        (-0.7, 0.84),
        (-0.36, 0.78),
        (-0.08, 0.96),
        (0.26, 0.82),
        (0.62, 0.92),
        (0.88, 0.56),
        (0.5, 0.1),
        (0.14, -0.3),
    ]
    bent = [(x * random.uniform(0.92, 1.08), y * random.uniform(0.94, 1.06)) for x, y in outline]
    placed = moved(bent, *at, scale=size, turn=lean * 0.7)
    figure.shape(placed, OUTLINE * 0.8)
    root = placed[0]
    edge = splined(placed[2:9], 3)
    for k in range(9):
        tip = along(edge, (k + 0.5) / 9)
        figure.hatch(
            [
                (tip[0] + (root[0] - tip[0]) * s, tip[1] + (root[1] - tip[1]) * s)
                for s in (0.03, 0.2, random.uniform(0.3, 0.5))
            ],
            0.2,
            head=0.2,
        )


def _beard(figure: Figure, random: Random, margin: str) -> None:
    cushion = [(0, 0.3), (0.2, 0.46), (0.55, 0.48), (0.88, 0.3), (0.98, 0.02), (0.8, -0.05), (0.4, -0.05), (0, -0.1)]
    for row in range(3):
        for k in range(19):
            x, y = 0.05 + 0.84 * (k + 0.33 * row + 0.2) / 19, 0.12 + 0.06 * row
            long = random.uniform(0.6, 0.78) * (1 - 0.45 * abs(x - 0.45)) - 0.08 * row
            w = 0.022
            figure.shape(
                [
                    (x - w, y),
                    (x - w * 0.7, y - long * 0.6),
                    (x + random.uniform(-0.01, 0.01), y - long),
                    (x + w * 0.7, y - long * 0.6),
                    (x + w, y),
                ],
                FINE,
            )
    figure.shape(cushion)


def _club(figure: Figure, random: Random, margin: str) -> None:
    outline = [
        (-0.1, 0),
        (-0.12, 0.4),
        (-0.24, 1.1),
        (-0.3, 1.7),
        (-0.2, 2.05),
        (0, 2.14),
        (0.2, 2.05),
        (0.3, 1.7),
        (0.24, 1.1),
        (0.12, 0.4),
        (0.1, 0),
    ]
    figure.shape(outline)
    room = splined([*outline, outline[0]], 4)
    for k in range(9):
        x = -0.26 + 0.03 * k
        figure.hatch(
            [(x * (0.4 + 0.6 * s), 0.2 + 1.5 * s) for s in steps(6, 0.1, random.uniform(0.6, 1.0))], 0.26, within=room
        )


DRAW: dict[str, Callable[[Figure, Random, str], None]] = {
    "branched": _coral, "rosette": _rosette, "beard": _beard, "club": _club,
}  # fmt: skip
