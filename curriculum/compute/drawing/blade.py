"""What a seaweed is like, and what stands on its blade: edge, midrib, spines, hairs."""

import math
from dataclasses import dataclass

from curriculum.compute.drawing.curves import Point, along, at_x, ellipse, steps
from curriculum.compute.drawing.pen import FINE, HAIR, Figure


@dataclass(frozen=True, slots=True)
class Frond:
    """What a frond is like, in words of the vocabulary ("" where unknown); `width` in shares of its length."""

    form: str
    branching: str
    margin: str
    midrib: str
    bladders: str
    section: str
    width: float


def edge_of(outline: list[Point], frond: Frond) -> list[Point]:
    """An outline with the waves, teeth or tears of its edge; the greatest width stays."""
    if frond.margin in ("wavy", "frilled"):
        rough, count = (0.05, 15) if frond.margin == "wavy" else (0.1, 26)
        return [(x * (1 - rough * (1 + math.sin(count * 6.283 * y)) / 2), y) for x, y in outline]
    if frond.margin == "torn":
        return [(x * (0.62 if i % 9 == 4 else 1.0), y) for i, (x, y) in enumerate(outline)]
    if frond.margin == "saw_toothed":
        return [(x * (1.0 if i % 2 else 0.92), y) for i, (x, y) in enumerate(outline)]
    return outline


def trim(figure: Figure, outline: list[Point], frond: Frond, reach: float) -> None:
    """What stands on the edge: spines, tufts of hairs, leaflets, or the line of a rolled edge."""
    count = {"spines": 60, "hair_tufts": 26, "leaflets": 14}.get(frond.margin, 0)
    for k in range(count):
        x, y = along(outline, 0.04 + 0.92 * k / count)
        out = math.copysign(1.0, x or 1.0)
        if frond.margin == "spines":
            figure.stroke(
                [(x, y), (x + out * reach * 0.5, y + reach * 0.3), (x + out * reach, y + reach * 0.8)], 0.24, head=0.1
            )
        elif frond.margin == "hair_tufts":
            for lean in (0.2, 0.6, 1.0, 1.4):
                figure.stroke(
                    [
                        (x, y),
                        (x + out * reach * lean, y + reach * 0.7),
                        (x + out * reach * lean * 1.3, y + reach * 1.5),
                    ],
                    0.13,
                    head=0.1,
                )
        else:
            figure.shape(
                [
                    (x, y - reach * 0.3),
                    (x + out * reach * 1.6, y + reach * 0.4),
                    (x + out * reach * 1.7, y + reach * 1.3),
                    (x, y + reach * 0.5),
                ],
                FINE,
            )
    if frond.margin == "inrolled":
        figure.line([(x * 0.9, y) for x, y in outline[2:-2]], HAIR)


def midrib(figure: Figure, frond: Frond, low: float, high: float, half: float) -> None:
    """The midrib of an upright blade between two heights."""
    if frond.midrib == "distinct":
        for side in (-1, 1):
            figure.line([(side * half * 0.07, low), (side * half * 0.06, (low + high) / 2), (0, high * 0.97)], FINE)
    elif frond.midrib == "faint":
        figure.stroke([(0, low + (high - low) * s) for s in steps(8, 0, 0.93)], 0.16, head=0.1)
    elif frond.midrib == "dimpled_band":
        rows = max(8, min(60, round((high - low) / max(half * 0.5, 0.012))))
        for k in range(rows):
            y = low + (high - low) * (0.06 + 0.84 * k / rows)
            aside = 0.16 * half * (1 if k % 2 else -1)
            figure.shape(ellipse((aside, y), half * 0.13, min(half * 0.16, (high - low) / rows * 0.4)), HAIR, "wash")


def at_edge(right: list[Point], y: float) -> float:
    """How wide a blade is at a height."""
    return at_x([(py, px) for px, py in right], y)
