"""Pen, ink and paper: a figure is a list of marks in millimetres of the organism, drawn from back to front.

Weights are millimetres on paper, whatever the scale at which the figure is printed later. Chance is seeded with the
taxon and the name of the part, so that a species always looks the same and one part never disturbs another.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from random import Random
from typing import TypeAlias

from curriculum.compute.drawing.curves import Point, Points, box, kept_within, mirrored, moved, resampled

OUTLINE = 0.42
FINE = 0.2
HAIR = 0.12


@dataclass(frozen=True, slots=True)
class Size:
    """A character in mm and the way to measure it on an outline: its width, its height, or its width half-way up."""

    character: str
    millimetres: float
    across: str = "width"


Sizes: TypeAlias = Iterable[Size]


@dataclass(frozen=True, slots=True)
class Mark:
    """One thing put on paper.

    `kind` is area (filled), line (of even weight), stroke (swelling and tapering) or dot. `hatch` marks what only
    models light and shade: without it the geometry still tells the characters. `apart` says
    that it covers none of its like. `sizes` are the recorded sizes to which this very outline is drawn.
    """

    kind: str
    points: tuple[Point, ...]
    weight: float = 0.0
    fill: str = ""
    closed: bool = False
    hatch: bool = False
    dotted: bool = False
    apart: bool = False
    head: float = 0.35
    sizes: tuple[Size, ...] = ()


@dataclass
class Figure:
    """One view of an organism. `anchors` say where on it a character can be seen.

    `measured` says that its size is recorded; a figure whose size is unknown carries no scale bar
    but the words of `note`. `tall` is the room, in millimetres of paper, that it takes as a small view, and `kind`
    the word by which the like views of two taxa are put side by side.
    """

    taxon: str
    title: str = ""
    measured: bool = True
    tall: float = 22.0
    note: str = ""
    kind: str = ""
    marks: list[Mark] = field(default_factory=list)
    anchors: dict[str, Point] = field(default_factory=dict)

    def random(self, part: str) -> Random:
        """Chance for one part of this taxon, the same at every call."""
        return Random(f"{self.taxon}/{part}")

    def area(self, points: Points, fill: str = "paper", *, sizes: Sizes = ()) -> None:
        """A filled shape without an outline."""
        self.marks.append(Mark("area", tuple(points), fill=fill, closed=True, sizes=tuple(sizes)))

    def line(self, points: Points, weight: float = OUTLINE, *, dotted: bool = False, sizes: Sizes = ()) -> None:
        """A line of even weight."""
        self._add(Mark("line", tuple(points), weight, dotted=dotted, sizes=tuple(sizes)))

    def shape(self, points: Points, weight: float = OUTLINE, fill: str = "paper", *, sizes: Sizes = ()) -> None:
        """A closed outline, filled."""
        self._add(Mark("line", tuple(points), weight, fill, closed=True, sizes=tuple(sizes)))

    def cell(self, points: Points, weight: float = HAIR, fill: str = "wash") -> None:
        """One of many small filled outlines, none of which covers another."""
        self._add(Mark("line", tuple(points), weight, fill, closed=True, apart=True))

    def stroke(self, points: Points, weight: float = 0.25, *, head: float = 0.35, within: Points = ()) -> None:
        """A stroke that swells and tapers and tells something (a gill, a vein, a hair)."""
        self._stroke(points, weight, head, within, hatch=False)

    def hatch(self, points: Points, weight: float = 0.2, *, head: float = 0.3, within: Points = ()) -> None:
        """A stroke that only models light and shade."""
        self._stroke(points, weight, head, within, hatch=True)

    def dot(self, at: Point, weight: float = 0.2, *, hatch: bool = False, within: Points = ()) -> None:
        """A dot of the pen; `weight` is its diameter on paper."""
        if not within or kept_within([at], within):
            self.marks.append(Mark("dot", (at,), weight, "ink", hatch=hatch))

    def anchor(self, character: str, at: Point) -> None:
        """Where a label may point at a character."""
        self.anchors[character] = at

    def include(
        self,
        other: "Figure",
        at: Point,
        *,
        scale: float = 1.0,
        turn: float = 0.0,
        flip: bool = False,
        lighter: float = 1.0,
    ) -> None:
        """Another figure's marks, mirrored if asked, scaled, turned and shifted; its sizes are not taken over."""
        for mark in other.marks:
            points = mirrored(mark.points) if flip else mark.points
            placed = tuple(moved(points, *at, scale, turn))
            self.marks.append(replace(mark, points=placed, weight=mark.weight * lighter, sizes=()))

    def box(self) -> tuple[float, float, float, float]:
        """Least and greatest x and y of everything drawn."""
        return box(point for mark in self.marks for point in mark.points)

    def outlines(self) -> Iterable[Mark]:
        """All marks except those that only model light and shade."""
        return (mark for mark in self.marks if not mark.hatch)

    def _stroke(self, points: Points, weight: float, head: float, within: Points, *, hatch: bool) -> None:
        kept = kept_within(_at_least(points), within) if within else list(points)
        if len(kept) > 1:
            self._add(Mark("stroke", tuple(kept), weight, "ink", hatch=hatch, head=head))

    def _add(self, mark: Mark) -> None:
        if len(mark.points) > 1:
            self.marks.append(mark)


def _at_least(points: Points) -> list[Point]:
    """Enough points to cut a stroke off near an edge."""
    return list(points) if len(points) > 6 else resampled(points, 8)
