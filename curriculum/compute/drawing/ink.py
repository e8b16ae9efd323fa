"""Marks to SVG: figures in millimetres of the organism are placed on paper and written as paths, without a transform.

So every coordinate in the file is a millimetre of paper, and a size can be read off a path with the scale bar alone.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from curriculum.compute.drawing.curves import Point, Points, bezier
from curriculum.compute.drawing.pen import Figure, Mark

INK = "#22301f"
FILLS = {"paper": "#fffdf6", "wash": "#ece5cd", "ink": INK}


@dataclass(frozen=True, slots=True)
class Placing:
    """Where a figure stands: millimetres of paper for one of the organism, and the paper point of its origin."""

    scale: float
    x: float
    y: float

    def on_paper(self, point: Point) -> Point:
        """A point of the organism (y upwards) on paper (y downwards)."""
        return self.x + point[0] * self.scale, self.y - point[1] * self.scale


def inked(figure: Figure, placing: Placing, *, lighter: float = 1.0) -> str:
    """The figure as SVG elements; runs of strokes or dots of one kind share an element.

    `lighter` thins every line of a view that is printed small.
    """
    marks = [replace(mark, weight=mark.weight * lighter) for mark in figure.marks]
    return "".join(_element(run, placing) for run in _runs(marks))


def _runs(marks: Sequence[Mark]) -> Iterable[list[Mark]]:
    run: list[Mark] = []
    for mark in marks:
        if run and not (_joins(run[-1]) and _joins(mark) and run[-1].hatch == mark.hatch):
            yield run
            run = []
        run.append(mark)
    if run:
        yield run


def _joins(mark: Mark) -> bool:
    return mark.kind in ("stroke", "dot")


def _element(run: list[Mark], placing: Placing) -> str:
    if _joins(run[0]):
        data = "".join(_drop(mark, placing) for mark in run)
        return f'<path class="ink{" hatch" if run[0].hatch else ""}" fill="{INK}" d="{data}"/>'
    mark = run[0]
    points = [placing.on_paper(point) for point in mark.points]
    # What is drawn to a recorded size must bear a ruler even where it is printed small.
    data = path(points, closed=mark.closed, decimals=4 if mark.sizes else 2)
    fill = f'fill="{FILLS[mark.fill]}"' if mark.fill else 'fill="none"'
    if mark.kind == "area":
        return f'<path class="{mark.fill}" {fill}{_sizes(mark)} d="{data}"/>'
    names = " ".join(word for word in (mark.fill, "ink-line") if word)
    dash = ' stroke-dasharray="0.1 0.7"' if mark.dotted else ""
    return (
        f'<path class="{names}" {fill} stroke="{INK}" stroke-width="{number(mark.weight)}" stroke-linecap="round"'
        f' stroke-linejoin="round"{dash}{_sizes(mark)} d="{data}"/>'
    )


def _sizes(mark: Mark) -> str:
    told = " ".join(f"{size.character}:{number(size.millimetres)}:{size.across}" for size in mark.sizes)
    return f' data-sizes="{told}"' if told else ""


def _drop(mark: Mark, placing: Placing) -> str:
    points = [placing.on_paper(point) for point in mark.points]
    if mark.kind == "dot":
        (x, y), r = points[0], mark.weight / 2
        half = f"a{number(r)} {number(r)} 0 1 0 {number(2 * r)} 0"
        return f"M{number(x - r)} {number(y)}{half}{half.replace(' 0 1 0 ', ' 0 1 0 -')}Z"
    return path(swelling(points, mark.weight, mark.head), closed=True)


def swelling(points: Points, weight: float, head: float) -> list[Point]:
    """The outline of a stroke that is thickest at the share `head` of its way and runs out at both ends."""
    if len(points) < 3:
        points = [points[0], ((points[0][0] + points[-1][0]) / 2, (points[0][1] + points[-1][1]) / 2), points[-1]]
    last = len(points) - 1
    left: list[Point] = []
    right: list[Point] = []
    for i, (x, y) in enumerate(points):
        dx, dy = _direction(points[max(i - 1, 0)], points[min(i + 1, last)])
        half = weight / 2 * max(_swell(i / last, head), 0.12)
        left.append((x - dy * half, y + dx * half))
        right.append((x + dy * half, y - dx * half))
    return [*left, *reversed(right)]


def _direction(a: Point, b: Point) -> Point:
    length = math.dist(a, b) or 1.0
    return (b[0] - a[0]) / length, (b[1] - a[1]) / length


def _swell(t: float, head: float) -> float:
    return float((t / head if t < head else (1 - t) / (1 - head)) ** 0.8)


def path(points: Points, *, closed: bool, decimals: int = 2) -> str:
    """The `d` of a smooth path through paper points; corners stay corners."""
    pieces = [
        [f"{number(x, decimals)} {number(y, decimals)}" for x, y in piece] for piece in bezier(points, closed=closed)
    ]
    start = f"M{number(points[0][0], decimals)} {number(points[0][1], decimals)}"
    return f"{start}{''.join('C' + ' '.join(piece) for piece in pieces)}{'Z' if closed else ''}"


def number(value: float, decimals: int = 2) -> str:
    """A number without needless zeros."""
    text = f"{value:.{decimals}f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text
