"""Reads a plate as a ruler and an eye would: paths to points, sizes against the next scale bar, texts to boxes."""

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from itertools import pairwise

from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont

from tests.curriculum.compute.files import ROOM

SVG = "{http://www.w3.org/2000/svg}"
FONTS = ROOM.parent / "foraywright" / "static" / "fonts"
STYLES = {"label": "400-normal", "label also": "400-italic", "label mark": "700-normal"}


@dataclass(frozen=True)
class Box:
    """A rectangle on paper in millimetres, y downwards."""

    left: float
    top: float
    right: float
    bottom: float
    words: str = ""

    def meets(self, other: "Box") -> bool:
        apart = self.right <= other.left or other.right <= self.left
        return not (apart or self.bottom <= other.top or other.bottom <= self.top)


@dataclass(frozen=True)
class Measured:
    """A recorded size and what a ruler finds on the drawn outline, both in mm of the organism."""

    character: str
    recorded: float
    found: float


def root_of(svg: str) -> ET.Element:
    return ET.fromstring(svg)


def paths(svg: str) -> Iterator[ET.Element]:
    return root_of(svg).iter(f"{SVG}path")


def geometry(svg: str) -> list[str]:
    """All that is drawn except what only models light and shade; labels and captions are left out too."""
    return sorted(one.attrib["d"] for one in paths(svg) if "hatch" not in one.attrib["class"])


def measured(svg: str) -> list[Measured]:
    """Every outline with a recorded size, measured with the scale bar that follows it."""
    found: list[Measured] = []
    waiting: list[tuple[str, float]] = []
    for one in paths(svg):
        if "data-bar" in one.attrib:
            points = outline(one.attrib["d"])
            ratio = float(one.attrib["data-bar"]) / (points[-1][0] - points[0][0])
            found += [Measured(*_named(told), length * ratio) for told, length in waiting]
            waiting = []
        for told in one.attrib.get("data-sizes", "").split():
            waiting.append((told, _extent(outline(one.attrib["d"]), told.rsplit(":", 1)[1])))
    assert not waiting, "an outline drawn to scale without a scale bar after it"
    return found


def _named(told: str) -> tuple[str, float]:
    character, size, _ = told.split(":")
    return character, float(size)


def _extent(points: list[tuple[float, float]], across: str) -> float:
    xs, ys = [x for x, _ in points], [y for _, y in points]
    if across == "width":
        return max(xs) - min(xs)
    if across == "height":
        return max(ys) - min(ys)
    level = (max(ys) + min(ys)) / 2
    cut = [
        a[0] + (b[0] - a[0]) * (level - a[1]) / (b[1] - a[1])
        for a, b in pairwise([*points, points[0]])
        if (a[1] > level) != (b[1] > level)
    ]
    return max(cut) - min(cut)


def outline(data: str) -> list[tuple[float, float]]:
    """Points of a path of M with L, or of M with relative cubic pieces, which are sampled."""
    numbers = [float(word) for word in re.findall(r"-?(?:\d+\.?\d*|\.\d+)", data)]
    if "c" not in data:
        return list(zip(numbers[::2], numbers[1::2], strict=True))
    points = [(numbers[0], numbers[1])]
    for i in range(2, len(numbers), 6):
        x, y = points[-1]
        points += _cubic((x, y), [value + (x, y)[k % 2] for k, value in enumerate(numbers[i : i + 6])])
    return points


def everything(svg: str) -> list[tuple[float, float]]:
    """Points of all that is drawn, path by path."""
    parts = [part for one in paths(svg) for part in re.split(r"(?=M)", one.attrib["d"]) if part]
    return [point for part in parts for point in outline(part.replace("h0", ""))]


def _cubic(start: tuple[float, float], rest: list[float]) -> list[tuple[float, float]]:
    x1, y1, x2, y2, x3, y3 = rest
    made = []
    for t in (0.125, 0.25, 0.375, 0.5, 0.625, 0.75, 0.875, 1.0):
        a, b, c, d = (1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3
        made.append((a * start[0] + b * x1 + c * x2 + d * x3, a * start[1] + b * y1 + c * y2 + d * y3))
    return made


@cache
def font(style: str) -> TTFont:
    return TTFont(FONTS / f"alegreya-sans-latin-{style}.woff2")


def text_boxes(svg: str) -> list[Box]:
    """The inked boxes of all texts, from the outlines of the real letters."""
    return [_text_box(one) for one in root_of(svg).iter(f"{SVG}text")]


def _text_box(one: ET.Element) -> Box:
    style, words = STYLES[one.attrib["class"]], one.text or ""
    face = font(style)
    size, x, y = (float(one.attrib[name]) for name in ("font-size", "x", "y"))
    advances, names = face["hmtx"], face.getBestCmap()
    length = sum(advances[names[ord(letter)]][0] for letter in words) * size / 1000
    left = x - {"start": 0.0, "middle": length / 2, "end": length}[one.attrib["text-anchor"]]
    tall = [_tall(style, names[ord(letter)]) for letter in words if not letter.isspace()]
    top, bottom = max(high for _, high in tall), min(low for low, _ in tall)
    return Box(left, y - top * size / 1000, left + length, y - bottom * size / 1000, words)


@cache
def _tall(style: str, name: str) -> tuple[float, float]:
    face = font(style)
    pen = BoundsPen(face.getGlyphSet())
    face.getGlyphSet()[name].draw(pen)
    return (pen.bounds[1], pen.bounds[3]) if pen.bounds else (0.0, 0.0)
