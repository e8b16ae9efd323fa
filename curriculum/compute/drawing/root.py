"""What a plant has below ground, hanging from the origin, about one unit deep. Drawn, never to be dug for."""

import math
from collections.abc import Callable
from random import Random

from curriculum.compute.drawing.curves import Point, along, blob, ellipse, moved, splined, steps
from curriculum.compute.drawing.pen import FINE, OUTLINE, Figure


def draw_underground(figure: Figure, kind: str) -> None:
    """Bulb, tuber, root or rootstock by its word; nothing where nobody recorded it."""
    draw = KINDS.get(kind)
    if draw:
        draw(figure, figure.random(f"root/{kind}"))


def _threads(figure: Figure, random: Random, at: Point, count: int, long: float, spread: float = 0.5) -> None:
    for k in range(count):
        lean = spread * (2 * (k + 0.5) / count - 1) + random.uniform(-0.08, 0.08)
        reach = long * random.uniform(0.6, 1.1)
        x, y = at
        figure.stroke(
            [(x + lean * 0.2, y), (x + lean * 0.6 + 0.02, y - reach * 0.5), (x + lean, y - reach)], 0.3, head=0.1
        )


def _bulb(figure: Figure, random: Random) -> None:
    outline: list[Point] = [
        (-0.1, 0.1),
        (-0.22, -0.18),
        (-0.36, -0.46),
        (-0.24, -0.72),
        (0, -0.78),
        (0.24, -0.72),
        (0.36, -0.46),
        (0.22, -0.18),
        (0.1, 0.1),
    ]
    _threads(figure, random, (0, -0.74), 9, 0.4, 0.26)
    figure.shape(outline)
    for share in (0.78, 0.54, 0.3):
        figure.line(
            [(0, 0.05), *[(x * share, y * (0.98 if y < -0.3 else 1)) for x, y in outline[5:8]][::-1], (0, -0.74)], FINE
        )
    for share in (0.8, 0.5):
        figure.hatch([(x * share, y) for x, y in outline[:4]], 0.26)
    figure.line([(0, 0.1), (0, -0.3), (0, -0.76)], FINE)


def _corm(figure: Figure, random: Random) -> None:
    """Solid within a brown coat, wider on one side."""
    _threads(figure, random, (0.05, -0.78), 8, 0.3, 0.22)
    coat: list[Point] = [
        (-0.08, 0.1),
        (-0.16, -0.1),
        (-0.34, -0.4),
        (-0.3, -0.72),
        (0.04, -0.84),
        (0.34, -0.74),
        (0.38, -0.42),
        (0.18, -0.12),
        (0.1, 0.1),
    ]
    figure.shape(coat, OUTLINE, "wash")
    figure.shape(blob(random, (0.03, -0.52), 0.26, 0.24, 0.04), OUTLINE * 0.8)
    for _ in range(18):
        a, r = random.uniform(0, 6.28), random.uniform(0, 0.18)
        figure.dot((0.03 + r * math.cos(a), -0.52 + r * math.sin(a)), 0.18)


def _tuber(figure: Figure, random: Random) -> None:
    _threads(figure, random, (0, -0.12), 8, 0.36, 0.4)
    body = blob(random, (0.02, -0.5), 0.36, 0.26, 0.07)
    figure.shape(body)
    for _ in range(5):
        figure.stroke(
            [(x := random.uniform(-0.2, 0.2), y := random.uniform(-0.64, -0.38)), (x + 0.03, y - 0.02), (x + 0.07, y)],
            0.3,
        )
    _side_shade(figure, body)
    figure.line([(0, 0.05), (0, -0.26)], OUTLINE)


def _side_shade(figure: Figure, body: list[Point]) -> None:
    low = min(x for x, _ in body)
    middle = sum(y for _, y in body) / len(body)
    for k in range(7):
        x = low + 0.05 + 0.035 * k
        figure.hatch([(x, middle + 0.1 - 0.01 * k), (x - 0.01, middle), (x + 0.01, middle - 0.12)], 0.24, within=body)


def _fingers(figure: Figure, random: Random) -> None:
    """A bunch of fat roots that hang like fingers."""
    for turn in (-0.85, 0.9, -0.42, 0.46, 0.02):
        finger: list[Point] = [
            (-0.05, 0),
            (-0.11, -0.16),
            (-0.12, -0.42),
            (-0.05, -0.66),
            (0, -0.8),
            (0.05, -0.66),
            (0.12, -0.42),
            (0.11, -0.16),
            (0.05, 0),
        ]
        placed = moved(finger, 0, -0.02, scale=random.uniform(0.88, 1.1), turn=turn)
        figure.shape(placed)
        for k in range(5):
            s = 0.2 + 0.13 * k
            line = moved([(-0.1 * (1 - s * 0.5), -0.8 * s), (-0.05, -0.8 * s - 0.03)], 0, -0.02, turn=turn)
            figure.stroke(line, 0.24)
    _threads(figure, random, (0, -0.05), 5, 0.3, 0.5)


def _taproot(figure: Figure, random: Random) -> None:
    outline = [(-0.13, 0.04), (-0.14, -0.2), (-0.08, -0.6), (0.0, -1.1), (0.08, -0.6), (0.14, -0.2), (0.13, 0.04)]
    figure.shape(outline)
    for k in range(7):
        y, side = -0.15 - 0.12 * k, (1 if k % 2 else -1)
        w = 0.13 * (1 - k / 9)
        figure.stroke([(side * w, y), (side * (w + 0.14), y - 0.08), (side * (w + 0.24), y - 0.16)], 0.28, head=0.1)
        figure.stroke([(-w * 0.9, y - 0.04), (-w * 0.2, y - 0.05), (w * 0.1, y - 0.04)], 0.2)


def _rhizome(figure: Figure, random: Random) -> None:
    top = [(x, -0.2 + 0.02 * math.sin(9 * x)) for x in steps(8, -0.75, 0.75)]
    low = [(x, y - 0.13) for x, y in reversed(top)]
    figure.shape([*top, *low])
    for x in steps(9, -0.66, 0.66):
        figure.line([(x, -0.2), (x + 0.02, -0.26), (x, -0.33)], FINE)
    for x in (-0.6, -0.36, -0.1, 0.16, 0.4, 0.62):
        _threads(figure, random, (x, -0.32), 2, 0.34, 0.14)
    figure.line([(0, 0.06), (0, -0.2)], OUTLINE)


def _fibrous(figure: Figure, random: Random) -> None:
    _threads(figure, random, (0, 0), 17, 0.75, 0.62)


def _woody(figure: Figure, random: Random) -> None:
    for turn, long in ((-0.9, 0.8), (0.95, 0.75), (-0.25, 0.9), (0.4, 0.85)):
        w = 0.07
        root = splined([(0, 0.04), (0.06 * math.sin(turn * 5), -0.4 * long), (0.02, -long)], 5)
        left = [(x - w * (1 - i / len(root)), y) for i, (x, y) in enumerate(root)]
        right = [(x + w * (1 - i / len(root)), y) for i, (x, y) in enumerate(root)]
        figure.shape(moved([*left, *reversed(right)], 0, 0, turn=turn), OUTLINE * 0.9)
        for s in (0.35, 0.6, 0.8):
            x, y = along(moved(root, 0, 0, turn=turn), s)
            figure.stroke(
                [(x, y), (x + 0.1 * math.sin(turn + s * 7), y - 0.1), (x + 0.2 * math.sin(turn + s * 7), y - 0.16)],
                0.32,
                head=0.1,
            )


def _chambered(figure: Figure, random: Random) -> None:
    """Swollen, cut lengthwise: rooms with cross-walls."""
    _threads(figure, random, (0, -0.7), 9, 0.36, 0.4)
    outline = [
        (-0.14, 0.08),
        (-0.3, -0.2),
        (-0.34, -0.5),
        (-0.2, -0.74),
        (0, -0.78),
        (0.2, -0.74),
        (0.34, -0.5),
        (0.3, -0.2),
        (0.14, 0.08),
    ]
    figure.shape(outline)
    for k, w in enumerate((0.12, 0.2, 0.24, 0.24, 0.18)):
        figure.shape(ellipse((0, -0.06 - 0.145 * k), w, 0.05), FINE, "wash")


def _stock(figure: Figure, random: Random) -> None:
    """Short, thick and upright, ringed with old leaf scars."""
    _threads(figure, random, (0, -0.4), 11, 0.45, 0.5)
    figure.shape([(-0.2, 0.06), (-0.26, -0.16), (-0.2, -0.42), (0, -0.5), (0.2, -0.42), (0.26, -0.16), (0.2, 0.06)])
    for y in (-0.06, -0.17, -0.28):
        figure.line([(-0.23, y), (0, y - 0.05), (0.23, y)], FINE)


def _runners(figure: Figure, random: Random) -> None:
    _threads(figure, random, (0, 0), 7, 0.4, 0.24)
    for side in (-1, 1):
        arc = splined([(0, 0.03), (side * 0.4, 0.16), (side * 0.8, 0.0)], 6)
        figure.line(arc, OUTLINE * 0.8)
        for lean in (-0.4, 0, 0.4):
            x = side * 0.8
            figure.stroke([(x, 0), (x + lean * 0.12, 0.1), (x + lean * 0.3, 0.2)], 0.5)
        _threads(figure, random, (side * 0.8, 0), 4, 0.22, 0.14)


KINDS: dict[str, Callable[[Figure, Random], None]] = {
    "bulb": _bulb, "corm": _corm, "tuber": _tuber, "finger_tubers": _fingers, "taproot": _taproot, "rhizome": _rhizome,
    "fibrous": _fibrous, "woody": _woody, "chambered": _chambered, "runners": _runners, "stock": _stock,
}  # fmt: skip
