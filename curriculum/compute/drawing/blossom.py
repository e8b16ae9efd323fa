"""Inflorescences, each on a stalk that ends at the origin, one unit high, in outline."""

import math
from collections.abc import Callable

from curriculum.compute.drawing.curves import Point, along, between, splined, steps
from curriculum.compute.drawing.flower import draw_flower
from curriculum.compute.drawing.pen import FINE, HAIR, OUTLINE, Figure


def draw_inflorescence(figure: Figure, kind: str, petals: str, bracts: str = "", bracteoles: str = "") -> None:
    """How the flowers stand; nothing where there is none or nobody recorded it."""
    draw = KINDS.get(kind)
    if draw:
        draw(figure, petals)
    if kind in ("compound_umbel", "umbel"):
        _bracts(figure, (0.0, 0.0), bracts, 0.14)
    if kind == "compound_umbel":
        for end in _compound_ends():
            _bracts(figure, end, bracteoles, 0.16 if bracteoles == "long_hanging" else 0.07)


def _head(figure: Figure, at: Point, size: float, petals: str, turn: float = 0.0) -> None:
    """One small flower."""
    flower = Figure(figure.taxon)
    draw_flower(flower, petals or "tiny", small=True)
    figure.include(flower, at, scale=size, turn=turn)


def _bracts(figure: Figure, at: Point, bracts: str, long: float) -> None:
    count = {"few": 3, "many": 8, "divided": 7, "long_hanging": 3}.get(bracts, 0)
    for k in range(count):
        a = -math.pi * (0.12 + 0.76 * k / max(1, count - 1))
        tip = (at[0] + long * math.cos(a), at[1] + long * 0.7 * math.sin(a))
        figure.stroke([at, between(at, tip, 0.5), tip], 0.5, head=0.4)
        if bracts == "divided":
            figure.stroke([between(at, tip, 0.5), (tip[0] + 0.03, tip[1] - 0.03), (tip[0] + 0.05, tip[1])], 0.3)


def _rays(count: int, low: float, high: float) -> list[Point]:
    """Ends of rays from the origin, on an arc between two angles."""
    return [(0.7 * math.cos(a), 0.7 * math.sin(a)) for a in steps(count - 1, low, high)]


def _umbel(figure: Figure, petals: str) -> None:
    for end in _rays(11, 0.35, math.pi - 0.35):
        figure.line([(0, 0), between((0, 0), end, 0.5), end], FINE)
        _head(figure, end, 0.24, petals)


def _compound_ends() -> list[Point]:
    return [(x * 1.05, y * 0.95) for x, y in _rays(9, 0.45, math.pi - 0.45)]


def _compound(figure: Figure, petals: str) -> None:
    for end in _compound_ends():
        figure.line([(0, 0), (end[0] * 0.45, end[1] * 0.55), end], OUTLINE * 0.7)
        for k in range(6):
            a = math.pi * (0.1 + 0.8 * k / 5)
            tip = (end[0] + 0.13 * math.cos(a), end[1] + 0.13 * math.sin(a))
            figure.line([end, tip], HAIR)
            _head(figure, tip, 0.085, petals)


def _flat(figure: Figure, petals: str) -> None:
    """Branches of unlike length that fork and end in one level: no umbel."""
    tops = steps(13, -0.85, 0.85)
    nodes: list[Point] = [(-0.42, 0.34), (-0.2, 0.4), (0.02, 0.3), (0.22, 0.42), (0.44, 0.33)]
    for node in nodes:
        figure.line([(0, 0), (node[0] * 0.5, node[1] * 0.6), node], OUTLINE * 0.7)
    for k, x in enumerate(tops):
        node = min(nodes, key=lambda n: abs(n[0] * 1.7 - x))
        end = (x, 0.66 + 0.05 * math.cos(x * 1.6) + (0.02 if k % 2 else 0))
        figure.line([node, between(node, (x * 0.9, end[1]), 0.55), end], FINE)
        for dx in (-0.05, 0.05):
            _head(figure, (end[0] + dx, end[1] + 0.03), 0.11, petals)


def _axis(figure: Figure, high: float = 1.0, bend: float = 0.0) -> list[Point]:
    line = splined([(0, 0), (bend * 0.3, high * 0.5), (bend, high)], 6)
    figure.line(line, OUTLINE * 0.8)
    return line


def _raceme(figure: Figure, petals: str) -> None:
    line = _axis(figure)
    for k in range(10):
        x, y = along(line, 0.12 + 0.086 * k)
        side = 1 if k % 2 else -1
        reach = 0.24 * (1 - 0.06 * k)
        figure.line([(x, y), (x + side * reach * 0.6, y + 0.05)], HAIR)
        _head(figure, (x + side * reach, y + 0.04), 0.2 * (1 - 0.05 * k), petals)
    _head(figure, (0, 1.0), 0.1, petals)


def _one_sided(figure: Figure, petals: str) -> None:
    """An arching stem, every flower nodding to the same side."""
    line = _axis(figure, 1.0, 0.24)
    for k in range(8):
        x, y = along(line, 0.16 + 0.11 * k)
        size = 0.21 * (1 - 0.06 * k)
        end = (x + 0.17 * (1 - 0.05 * k), y - 0.05)
        figure.line(splined([(x, y), (x + 0.1, y + 0.05), end], 3), HAIR)
        _head(figure, (end[0], end[1] - size * 0.45), size, petals)


def _spike(figure: Figure, petals: str) -> None:
    line = _axis(figure)
    for k in range(16):
        x, y = along(line, 0.2 + 0.05 * k)
        _head(figure, (x + (0.07 if k % 2 else -0.07), y), 0.13, petals)


def _catkins(figure: Figure, petals: str) -> None:
    for side in (-1, 1):
        for k in range(3):
            foot = (0.0, 0.2 + 0.3 * k)
            string = splined(
                [foot, (side * 0.2, foot[1] + 0.04), (side * 0.32, foot[1] - 0.12), (side * 0.36, foot[1] - 0.34)], 6
            )
            figure.line(string, HAIR)
            for s in steps(9, 0.22, 1.0):
                x, y = along(string, s)
                _head(figure, (x, y), 0.075, "tiny")
    figure.line([(0, 0), (0, 0.5), (0, 1.0)], OUTLINE * 0.8)


def _spathe(figure: Figure, petals: str) -> None:
    """A hood that stands open, a club within."""
    figure.shape(
        [
            (-0.1, 0.0),
            (-0.22, 0.14),
            (-0.2, 0.34),
            (-0.3, 0.62),
            (-0.2, 0.92),
            (0.06, 1.14),
            (0.14, 0.8),
            (0.2, 0.5),
            (0.18, 0.32),
            (0.2, 0.14),
            (0.1, 0.0),
        ],
        OUTLINE * 0.85,
    )
    figure.area([(-0.12, 0.38), (-0.2, 0.64), (-0.1, 0.9), (0.05, 1.04), (0.1, 0.76), (0.1, 0.4)], "wash")
    figure.line([(0.1, 0.36), (0.1, 0.7), (0.06, 1.12)], FINE)
    figure.line([(-0.14, 0.36), (0, 0.33), (0.16, 0.34)], FINE)
    figure.shape(
        [(-0.03, 0.3), (-0.06, 0.5), (-0.05, 0.74), (0, 0.8), (0.05, 0.74), (0.06, 0.5), (0.03, 0.3)], OUTLINE * 0.7
    )
    for k in range(8):
        x = -0.2 + 0.02 * k
        figure.hatch([(x, 0.1), (x - 0.0, 0.2), (x + 0.02, 0.3)], 0.2)


def _cluster(figure: Figure, petals: str) -> None:
    for x, y in ((-0.26, 0.3), (0.26, 0.34), (-0.1, 0.52), (0.12, 0.56)):
        figure.line([(0, 0), (x * 0.6, y * 0.5), (x, y)], FINE)
        _head(figure, (x, y + 0.06), 0.3, petals)


def _panicle(figure: Figure, petals: str) -> None:
    figure.line([(0, 0), (0, 0.95)], OUTLINE * 0.8)
    for k in range(5):
        y, reach = 0.14 + 0.16 * k, 0.44 * (1 - 0.16 * k)
        for side in (-1, 1):
            end = (side * reach, y + reach * 0.5)
            figure.line([(0, y), (side * reach * 0.5, y + reach * 0.2), end], FINE)
            for s in (0.45, 0.7, 0.92, 1.0):
                x, yy = between((0, y), end, s)
                _head(figure, (x, yy + (0.05 if s < 1 else 0)), 0.1, petals)
    _head(figure, (0, 0.98), 0.12, petals)


def _single(figure: Figure, petals: str) -> None:
    if petals == "joined_bell":
        figure.line(splined([(0, 0), (0, 0.6), (0.14, 0.98), (0.32, 0.86)], 5), OUTLINE * 0.8)
        _head(figure, (0.34, 0.6), 0.52, petals)
        return
    figure.line([(0, 0), (0, 0.3)], OUTLINE * 0.8)
    tiny = petals in ("", "none", "tiny")
    _head(figure, (0, 0.34 if tiny else 0.62), 0.12 if tiny else 0.66, petals)


def _daisy(figure: Figure, petals: str) -> None:
    figure.line([(0, 0), (0, 0.3)], OUTLINE * 0.8)
    _head(figure, (0, 0.62), 0.62, "many")


def _dandelion(figure: Figure, petals: str) -> None:
    """Strap-shaped flowers only, over rows of green bracts."""
    figure.line([(0, 0), (0, 0.45)], OUTLINE * 0.8)
    for k in range(17):
        a = math.pi * (0.06 + 0.88 * k / 16)
        figure.stroke(
            [
                (0.06 * math.cos(a), 0.62),
                (0.3 * math.cos(a), 0.66 + 0.2 * math.sin(a)),
                (0.46 * math.cos(a), 0.66 + 0.34 * math.sin(a)),
            ],
            0.6,
            head=0.8,
        )
    figure.shape([(-0.13, 0.62), (-0.1, 0.46), (0.1, 0.46), (0.13, 0.62), (0, 0.66)], OUTLINE * 0.7)


def _axils(figure: Figure, petals: str) -> None:
    figure.line([(0, 0), (0, 1.0)], OUTLINE * 0.8)
    for k in range(3):
        for side in (-1, 1):
            for j in range(3):
                _head(figure, (side * (0.07 + 0.07 * j), 0.2 + 0.3 * k + 0.05 * j), 0.12, petals)


KINDS: dict[str, Callable[[Figure, str], None]] = {
    "umbel": _umbel, "compound_umbel": _compound, "flat_head": _flat, "raceme": _raceme,
    "one_sided_raceme": _one_sided, "spike": _spike, "catkins": _catkins, "spathe": _spathe, "cluster": _cluster,
    "panicle": _panicle, "single": _single, "daisy_head": _daisy, "dandelion_head": _dandelion, "axils": _axils,
}  # fmt: skip
