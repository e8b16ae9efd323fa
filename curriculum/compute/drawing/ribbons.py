"""Ribbons that join without a seam, for branched fronds."""

import math
from collections.abc import Callable
from dataclasses import dataclass, field

from curriculum.compute.drawing.curves import Point, between, splined, steps
from curriculum.compute.drawing.pen import OUTLINE, Figure


@dataclass
class Ribbons:
    """Ribbons along centre lines; drawn all outlines first, then all insides, so that joints stay open."""

    parts: list[tuple[list[Point], list[Point]]] = field(default_factory=list)

    def add(self, line: list[Point], widths: Callable[[float], float]) -> list[Point]:
        """One ribbon: its centre line, and its half width at each share of the way; returns its outline."""
        dense = splined(line, 6) if len(line) > 2 else [between(line[0], line[-1], s) for s in steps(8)]
        outline = swept(dense, widths)
        self.parts.append((outline, dense))
        return outline

    def draw(self, figure: Figure, weight: float = OUTLINE) -> None:
        """Outlines, then insides."""
        for outline, _ in self.parts:
            figure.shape(outline, weight * 1.7)
        for outline, _ in self.parts:
            figure.area(outline)


def swept(line: list[Point], widths: Callable[[float], float]) -> list[Point]:
    """The outline of a ribbon along a line, from its half width at each share of the way."""
    left: list[Point] = []
    right: list[Point] = []
    last = len(line) - 1
    for i, (x, y) in enumerate(line):
        (x0, y0), (x1, y1) = line[max(i - 1, 0)], line[min(i + 1, last)]
        length = math.hypot(x1 - x0, y1 - y0) or 1.0
        w = widths(i / last)
        left.append((x - (y1 - y0) / length * w, y + (x1 - x0) / length * w))
        right.append((x + (y1 - y0) / length * w, y - (x1 - x0) / length * w))
    return [*left, *reversed(right)]


def blunt(half: float) -> Callable[[float], float]:
    """Even, with a rounded end."""
    return lambda t: half * (1.0 if t < 0.8 else math.sqrt(max(0.05, 1 - ((t - 0.8) / 0.2) ** 2)))


def even(half: float) -> Callable[[float], float]:
    """As wide all along."""
    return lambda t: half
