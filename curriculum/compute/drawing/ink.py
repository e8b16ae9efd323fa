"""Marks to SVG: figures in millimetres of the organism are placed on paper and written as paths, without a transform.

So every coordinate in the file is a millimetre of paper, and a size can be read off a path with the scale bar alone.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate, pairwise

from curriculum.compute.drawing.curves import Point, Points, between, bezier, eased, resampled
from curriculum.compute.drawing.pen import Figure, Mark

INK = "#22301f"
DOT = 0.06
FAITHFUL = 0.025
FEWEST = 4
SHORT = 2.0
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
    """The figure as one SVG group; runs of like marks that do not cover one another share a path.

    `lighter` thins every line of a view that is printed small.
    """
    marks = [replace(mark, weight=mark.weight * lighter) for mark in figure.marks]
    paths = "".join(_element(run, placing) for run in _runs(marks))
    return f'<g stroke-linecap="round" stroke-linejoin="round">{paths}</g>'


def _runs(marks: Sequence[Mark]) -> Iterable[list[Mark]]:
    run: list[Mark] = []
    for mark in marks:
        if run and not (_like(mark) and _like(mark) == _like(run[-1])):
            yield run
            run = []
        run.append(mark)
    if run:
        yield run


def _like(mark: Mark) -> tuple[str, bool, float] | None:
    """What marks must have in common to share a path; None for those that cover what lies behind them."""
    if mark.apart:
        return mark.fill, mark.hatch, mark.weight
    if mark.fill in ("paper", "wash") or mark.closed or mark.dotted or mark.sizes:
        return None
    return mark.kind, mark.hatch, mark.weight if mark.kind == "line" else 0.0


def _element(run: list[Mark], placing: Placing) -> str:
    draw = {"stroke": _strokes, "dot": _dots, "area": _area}.get(run[0].kind, _lines)
    return draw(run, placing)


def _strokes(run: list[Mark], placing: Placing) -> str:
    data = "".join(path(swelling(_placed(mark, placing), mark.weight, mark.head), closed=True) for mark in run)
    return f'<path class="ink{" hatch" if run[0].hatch else ""}" fill="{INK}" d="{data}"/>'


def _dots(run: list[Mark], placing: Placing) -> str:
    """Dots are lines without length and with round ends; those of about one size share a path."""
    sizes: dict[float, list[str]] = {}
    for mark in run:
        x, y = placing.on_paper(mark.points[0])
        sizes.setdefault(max(DOT, round(mark.weight / DOT) * DOT), []).append(f"M{number(x)} {number(y)}h0")
    css = "ink-line hatch" if run[0].hatch else "ink-line"
    return "".join(
        f'<path class="{css}" fill="none" stroke="{INK}" stroke-width="{number(size)}" d="{"".join(places)}"/>'
        for size, places in sizes.items()
    )


def _area(run: list[Mark], placing: Placing) -> str:
    mark = run[0]
    return f'<path class="{mark.fill}" fill="{FILLS[mark.fill]}"{_sizes(mark)} d="{_outline(mark, placing)}"/>'


def _lines(run: list[Mark], placing: Placing) -> str:
    mark = run[0]
    names = " ".join(word for word in (mark.fill, "ink-line") if word)
    dash = ' stroke-dasharray="0.1 0.7"' if mark.dotted else ""
    data = "".join(_outline(one, placing) for one in run)
    return (
        f'<path class="{names}" fill="{FILLS.get(mark.fill, "none")}" stroke="{INK}"'
        f' stroke-width="{number(mark.weight)}"{dash}{_sizes(mark)} d="{data}"/>'
    )


def _outline(mark: Mark, placing: Placing) -> str:
    """What is drawn to a recorded size keeps every point, to bear a ruler even where it is printed small."""
    points = _placed(mark, placing)
    if mark.sizes:
        return path(points, closed=mark.closed, decimals=4)
    return path(eased(points, FAITHFUL), closed=mark.closed)


def _placed(mark: Mark, placing: Placing) -> list[Point]:
    return [placing.on_paper(point) for point in mark.points]


def _sizes(mark: Mark) -> str:
    told = " ".join(f"{size.character}:{number(size.millimetres)}:{size.across}" for size in mark.sizes)
    return f' data-sizes="{told}"' if told else ""


def swelling(points: Points, weight: float, head: float) -> list[Point]:
    """The outline of a stroke that is thickest at the share `head` of its way and runs out at both ends."""
    line = eased(points, FAITHFUL)
    if math.dist(points[0], points[-1]) < SHORT and len(line) < FEWEST:
        return _dash(points[0], points[-1], weight, head)
    if len(line) < FEWEST:
        line = resampled(points, FEWEST - 1)
    lengths = [0.0, *accumulate(math.dist(a, b) for a, b in pairwise(line))]
    last = len(line) - 1
    left: list[Point] = []
    right: list[Point] = []
    for i, (x, y) in enumerate(line):
        dx, dy = _direction(line[max(i - 1, 0)], line[min(i + 1, last)])
        half = weight / 2 * max(_swell(lengths[i] / (lengths[-1] or 1.0), head), 0.12)
        left.append((x - dy * half, y + dx * half))
        right.append((x + dy * half, y - dx * half))
    return [*left, *reversed(right)]


def _dash(a: Point, b: Point, weight: float, head: float) -> list[Point]:
    """A short straight stroke needs no more than its ends and its thickest place."""
    (x, y), (dx, dy), half = between(a, b, head), _direction(a, b), weight / 2
    return [a, (x - dy * half, y + dx * half), b, (x + dy * half, y - dx * half)]


def _direction(a: Point, b: Point) -> Point:
    length = math.dist(a, b) or 1.0
    return (b[0] - a[0]) / length, (b[1] - a[1]) / length


def _swell(t: float, head: float) -> float:
    return math.pow(max(0.0, t / head if t < head else (1 - t) / (1 - head)), 0.8)


def path(points: Points, *, closed: bool, decimals: int = 2) -> str:
    """The `d` of a smooth path through paper points, in relative pieces; corners stay corners."""
    unit = 10**decimals
    pen = (round(points[0][0] * unit), round(points[0][1] * unit))
    parts = [f"M{number(points[0][0], decimals)} {number(points[0][1], decimals)}"]
    for piece in bezier(points, closed=closed):
        ends = [(round(x * unit), round(y * unit)) for x, y in piece]
        steps = [number(value / unit, decimals) for x, y in ends for value in (x - pen[0], y - pen[1])]
        parts.append(f"c{_packed(steps)}")
        pen = ends[-1]
    return "".join(parts) + ("Z" if closed else "")


def _packed(numbers: Iterable[str]) -> str:
    """Numbers without the spaces that a sign makes needless."""
    return " ".join(numbers).replace(" -", "-")


def number(value: float, decimals: int = 2) -> str:
    """A number without needless zeros."""
    text = f"{value:.{decimals}f}".rstrip("0").rstrip(".") if decimals else f"{value:.0f}"
    text = text.replace("0.", ".", 1) if text.startswith(("0.", "-0.")) else text
    return "0" if text in ("-0", "") else text
