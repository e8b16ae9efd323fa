"""Single flowers by their petals, and fruits by their kind, each about the origin with a width of 1."""

import math
from collections.abc import Callable

from curriculum.compute.drawing.curves import Point, ellipse, mirrored, moved
from curriculum.compute.drawing.pen import FINE, HAIR, OUTLINE, Figure

COUNTS = {"three": 3, "four": 4, "five": 5, "six": 6, "split_five": 10}
PETAL: tuple[Point, ...] = (
    (0, 0.04),
    (0.1, 0.14),
    (0.2, 0.3),
    (0.17, 0.45),
    (0, 0.5),
    (-0.17, 0.45),
    (-0.2, 0.3),
    (-0.1, 0.14),
)


def draw_flower(figure: Figure, petals: str, *, small: bool = False) -> None:
    """A flower one unit wide, from above, or from the side where its petals are joined."""
    if petals in COUNTS:
        _open(figure, COUNTS[petals], small=small)
    elif petals in SPECIAL:
        SPECIAL[petals](figure, small)


def _open(figure: Figure, count: int, *, small: bool) -> None:
    narrow = min(1.0, 4.6 / count)
    for k in range(count):
        petal = [(x * narrow, y) for x, y in PETAL]
        turn = 2 * math.pi * k / count
        figure.shape(moved(petal, 0, 0, turn=turn), FINE if small else OUTLINE * 0.8)
        if not small:
            for x in (-0.06, 0.0, 0.06):
                figure.hatch(moved([(x * 0.5, 0.16), (x, 0.26), (x * 1.2, 0.38)], 0, 0, turn=turn), 0.14)
    if small:
        figure.dot((0, 0), 0.4)
        return
    for k in range(count):
        x, y = 0.19 * math.sin(2 * math.pi * (k + 0.5) / count), 0.19 * math.cos(2 * math.pi * (k + 0.5) / count)
        figure.line([(x * 0.3, y * 0.3), (x, y)], HAIR)
        figure.shape(ellipse((x, y), 0.028, 0.028), HAIR, "ink")
    figure.shape(ellipse((0, 0), 0.06, 0.06), FINE, "wash")


def _bell(figure: Figure, small: bool) -> None:
    """Hanging, seen from the side, with turned-back tips."""
    side: list[Point] = [(0, 0.5), (0.24, 0.46), (0.38, 0.22), (0.38, -0.12), (0.46, -0.3), (0.5, -0.36)]
    hem: list[Point] = [(0.34, -0.34), (0.17, -0.26), (0, -0.38), (-0.17, -0.26), (-0.34, -0.34)]
    figure.shape([*side, *hem, *reversed(mirrored(side[1:]))], FINE if small else OUTLINE * 0.85)
    if not small:
        figure.line([(0, 0.5), (-0.04, 0.66), (-0.16, 0.78)], OUTLINE * 0.8)
        for k in range(7):
            figure.hatch([(-0.3 + 0.03 * k, 0.3 - 0.02 * k), (-0.34 + 0.04 * k, 0.0), (-0.36 + 0.05 * k, -0.2)], 0.18)


def _tube(figure: Figure, small: bool) -> None:
    side: list[Point] = [(0.12, -0.7), (0.13, -0.2), (0.18, 0.2), (0.34, 0.42), (0.5, 0.5)]
    figure.shape(
        [*side, (0.2, 0.42), (0, 0.52), (-0.2, 0.42), *reversed(mirrored(side))], FINE if small else OUTLINE * 0.85
    )
    if not small:
        for x in (-0.07, -0.03):
            figure.hatch([(x, -0.6), (x * 1.2, 0), (x * 2, 0.36)], 0.2)


def _pea(figure: Figure, small: bool) -> None:
    weight = FINE if small else OUTLINE * 0.8
    figure.shape([(0.1, -0.1), (-0.1, 0.3), (-0.36, 0.52), (-0.48, 0.36), (-0.34, 0.04)], weight)
    figure.shape([(0.12, -0.12), (-0.2, 0.02), (-0.46, -0.16), (-0.3, -0.34), (0.0, -0.3)], weight)
    figure.shape([(0.5, -0.1), (0.3, 0.04), (0.06, 0.0), (0.06, -0.22), (0.3, -0.22)], weight)


def _hooded(figure: Figure, small: bool) -> None:
    """From the side: a tall hood over two side petals."""
    weight = FINE if small else OUTLINE * 0.85
    figure.shape(
        [(-0.34, -0.1), (-0.42, 0.3), (-0.2, 0.62), (0.1, 0.66), (0.32, 0.44), (0.42, 0.14), (0.16, 0.2), (0.06, 0.0)],
        weight,
    )
    figure.shape([(-0.32, -0.12), (0.02, 0.06), (0.2, -0.1), (0.1, -0.34), (-0.18, -0.36)], weight)
    figure.shape([(-0.16, -0.34), (-0.08, -0.58), (0.04, -0.6), (0.06, -0.34)], weight)


def _many(figure: Figure, small: bool) -> None:
    for k in range(16):
        petal = [(x * 0.42, y) for x, y in PETAL]
        figure.shape(moved(petal, 0, 0, turn=2 * math.pi * k / 16), FINE)
    figure.shape(ellipse((0, 0), 0.18, 0.18), OUTLINE * 0.7, "wash")


def _tiny(figure: Figure, small: bool) -> None:
    """Green and small: four scales, the anthers standing out between them."""
    if small:
        figure.shape(ellipse((0, 0), 0.3, 0.34), FINE, "wash")
        return
    for k in range(4):
        a = math.pi / 4 + math.pi / 2 * k
        c, s = math.cos(a), math.sin(a)
        figure.line([(0.1 * c, 0.1 * s), (0.3 * c, 0.3 * s), (0.46 * c, 0.44 * s)], FINE)
        figure.shape(ellipse((0.46 * c, 0.46 * s), 0.05, 0.05), FINE, "wash")
        scale = moved([(0, 0.04), (0.09, 0.14), (0, 0.3), (-0.09, 0.14)], 0, 0, turn=a + math.pi / 4)
        figure.shape(scale, OUTLINE * 0.7)
    figure.shape(ellipse((0, 0), 0.08, 0.08), FINE, "wash")


SPECIAL: dict[str, Callable[[Figure, bool], None]] = {
    "joined_bell": _bell, "joined_tube": _tube, "pea": _pea, "many": _many, "hooded": _hooded, "tiny": _tiny,
    "none": _tiny,
}  # fmt: skip


def draw_fruit(figure: Figure, kind: str) -> None:
    """A fruit one unit wide with its stalk, cut where that tells its kind."""
    draw = FRUITS.get(kind)
    if draw:
        draw(figure)


def _round(figure: Figure, fill: str = "paper") -> None:
    figure.shape(ellipse((0, 0), 0.5, 0.5), OUTLINE * 0.85, fill)


def _stem(figure: Figure, y: float = -0.5, long: float = 0.4) -> None:
    figure.line([(0, y), (0.02, y - long * 0.5), (0, y - long)], OUTLINE * 0.9)


def _shade(figure: Figure, rx: float = 0.5, ry: float = 0.5) -> None:
    for k in range(9):
        a = 2.5 + 0.18 * k
        figure.hatch(
            [(rx * s * math.cos(a), ry * s * math.sin(a)) for s in (0.97, 0.86, 0.72 - 0.02 * k)], 0.22, head=0.2
        )


def _berry(figure: Figure) -> None:
    _stem(figure)
    _round(figure)
    _shade(figure)
    for k in range(5):
        a = math.pi / 2 + (k - 2) * 0.35
        figure.stroke([(0.05 * math.cos(a), 0.42), (0.12 * math.cos(a), 0.46), (0.2 * math.cos(a), 0.5)], 0.3)
    figure.shape(ellipse((0.14, 0.02), 0.14, 0.08), HAIR)


def _stone(figure: Figure) -> None:
    """Cut: the stone lies in the flesh."""
    _stem(figure)
    _round(figure)
    figure.shape(ellipse((0, 0), 0.42, 0.42), HAIR)
    for x in (-0.17, 0.05, 0.2):
        figure.shape(ellipse((x, 0.02 * (1 if x > 0 else -1)), 0.075, 0.24), FINE, "wash")
    _shade(figure)


def _capsule(figure: Figure) -> None:
    _stem(figure, -0.52)
    outline = [
        (0, 0.6),
        (-0.2, 0.5),
        (-0.46, 0.2),
        (-0.5, -0.12),
        (-0.34, -0.44),
        (0, -0.54),
        (0.34, -0.44),
        (0.5, -0.12),
        (0.46, 0.2),
        (0.2, 0.5),
    ]
    figure.shape(outline, OUTLINE * 0.85)
    figure.line([(0, 0.6), (-0.03, 0), (0, -0.54)], FINE)
    for s in (-1, 1):
        figure.line([(0, 0.58), (s * 0.27, 0.1), (s * 0.2, -0.48)], FINE)
    _shade(figure, 0.48, 0.5)


def _pod(figure: Figure) -> None:
    figure.shape(
        [
            (-0.1, -1.2),
            (-0.3, -0.8),
            (-0.34, 0.4),
            (-0.1, 1.1),
            (0.06, 1.4),
            (0.2, 0.9),
            (0.3, 0),
            (0.16, -0.9),
            (0, -1.2),
        ],
        OUTLINE * 0.85,
    )
    for k in range(5):
        figure.line(ellipse((-0.05, -0.7 + 0.36 * k), 0.16, 0.14, -1.2, 1.9), FINE)


def _nut(figure: Figure) -> None:
    figure.shape(
        [(-0.44, 0.1), (-0.42, -0.4), (-0.2, -0.8), (0, -0.95), (0.2, -0.8), (0.42, -0.4), (0.44, 0.1)], OUTLINE * 0.85
    )
    figure.shape([(-0.5, 0.06), (-0.44, 0.36), (0, 0.5), (0.44, 0.36), (0.5, 0.06), (0, -0.02)], OUTLINE * 0.85, "wash")


def _ribbed(figure: Figure) -> None:
    """Two halves with ribs, crowned by two styles."""
    _stem(figure, -0.8)
    outline = [
        (-0.12, 0.72),
        (-0.4, 0.5),
        (-0.5, 0),
        (-0.4, -0.55),
        (-0.1, -0.8),
        (0.1, -0.8),
        (0.4, -0.55),
        (0.5, 0),
        (0.4, 0.5),
        (0.12, 0.72),
    ]
    figure.shape(outline, OUTLINE * 0.85)
    for x in (-0.34, -0.17, 0, 0.17, 0.34):
        figure.stroke([(x * 0.4, 0.7), (x, 0.3), (x, -0.4), (x * 0.5, -0.78)], 0.34)
    for s in (-1, 1):
        figure.line([(s * 0.06, 0.74), (s * 0.12, 0.9), (s * 0.3, 1.0)], FINE)


def _winged(figure: Figure) -> None:
    figure.shape([(0, -0.1), (0.14, 0.1), (0.5, 0.9), (0.4, 1.3), (0.1, 1.1), (-0.1, 0.3)], OUTLINE * 0.8)
    figure.shape(ellipse((0, 0), 0.16, 0.2), OUTLINE * 0.8, "wash")


def _down(figure: Figure) -> None:
    for k in range(13):
        a = math.pi * (0.1 + 0.8 * k / 12)
        figure.stroke(
            [(0, 0.1), (0.3 * math.cos(a), 0.1 + 0.3 * math.sin(a)), (0.5 * math.cos(a), 0.1 + 0.5 * math.sin(a))], 0.17
        )
    figure.line([(0, 0.1), (0, -0.4)], FINE)
    figure.shape([(-0.06, -0.4), (0, -0.8), (0.06, -0.4)], OUTLINE * 0.7, "wash")


def _hip(figure: Figure) -> None:
    _stem(figure, -0.62)
    figure.shape(
        [
            (-0.14, 0.6),
            (-0.46, 0.2),
            (-0.46, -0.2),
            (-0.2, -0.58),
            (0.2, -0.58),
            (0.46, -0.2),
            (0.46, 0.2),
            (0.14, 0.6),
        ],
        OUTLINE * 0.85,
    )
    for x in (-0.2, -0.1, 0.0, 0.1, 0.2):
        figure.stroke([(x * 0.5, 0.6), (x, 0.74), (x * 1.6, 0.84)], 0.3)
    _shade(figure, 0.46, 0.56)


def _compound(figure: Figure) -> None:
    _stem(figure)
    for row, (y, count) in enumerate(((-0.32, 3), (-0.14, 4), (0.06, 4), (0.24, 3), (0.38, 2))):
        for k in range(count):
            x = (k - (count - 1) / 2) * 0.22 + (0.02 if row % 2 else 0)
            figure.shape(ellipse((x, y), 0.12, 0.12), FINE)
            figure.hatch([(x - 0.07, y - 0.05), (x - 0.08, y), (x - 0.05, y + 0.06)], 0.16)


def _cone(figure: Figure) -> None:
    figure.shape(
        [(-0.3, -0.6), (-0.5, -0.1), (-0.36, 0.5), (0, 0.9), (0.36, 0.5), (0.5, -0.1), (0.3, -0.6)], OUTLINE * 0.85
    )
    for r in range(5):
        for c in range(-1, 2):
            x, y = 0.26 * c + 0.13 * (r % 2), -0.45 + 0.25 * r
            if abs(x) < 0.42 - 0.05 * r:
                figure.line([(x - 0.12, y + 0.1), (x, y - 0.08), (x + 0.12, y + 0.1)], FINE)


def _open_cup(figure: Figure) -> None:
    figure.shape(
        [(-0.34, 0.4), (-0.5, 0.0), (-0.34, -0.42), (0, -0.52), (0.34, -0.42), (0.5, 0), (0.34, 0.4)], OUTLINE * 0.85
    )
    figure.shape(ellipse((0, 0.36), 0.34, 0.12), FINE, "wash")
    figure.shape(ellipse((0, 0.34), 0.17, 0.16), FINE, "ink")
    _stem(figure)


def _pome(figure: Figure) -> None:
    _stem(figure)
    _round(figure)
    _shade(figure)
    for x in (-0.16, -0.08, 0.0, 0.08, 0.16):
        figure.stroke([(x * 0.5, 0.46), (x, 0.54), (x * 1.7, 0.62)], 0.3)
    figure.shape(ellipse((0, 0.47), 0.12, 0.04), FINE, "wash")


def _corky(figure: Figure) -> None:
    for x, y in ((-0.2, -0.1), (0.22, -0.06), (0.0, 0.24)):
        figure.shape(
            [
                (x - 0.28, y),
                (x - 0.2, y + 0.2),
                (x + 0.04, y + 0.26),
                (x + 0.26, y + 0.14),
                (x + 0.24, y - 0.12),
                (x, y - 0.22),
                (x - 0.2, y - 0.16),
            ],
            OUTLINE * 0.8,
        )
        for dx in (-0.12, 0.02, 0.14):
            figure.stroke([(x + dx, y + 0.12), (x + dx + 0.02, y), (x + dx, y - 0.1)], 0.24)


def _burr(figure: Figure) -> None:
    """Twin globes set with hooks."""
    for x in (-0.25, 0.25):
        for k in range(14):
            a = 2 * math.pi * k / 14
            c, s = math.cos(a), math.sin(a)
            figure.stroke(
                [(x + 0.22 * c, 0.22 * s), (x + 0.31 * c, 0.31 * s), (x + 0.34 * c - 0.03 * s, 0.34 * s + 0.03 * c)],
                0.22,
                head=0.1,
            )
        figure.shape(ellipse((x, 0), 0.23, 0.23), OUTLINE * 0.8)


def _follicles(figure: Figure) -> None:
    for turn in (0.34, -0.34, 0.0):
        figure.shape(
            moved(
                [(-0.12, 0), (-0.2, 0.5), (-0.1, 0.9), (0.02, 1.1), (0.1, 0.8), (0.14, 0.4), (0.1, 0)],
                0,
                -0.5,
                turn=turn,
            ),
            OUTLINE * 0.8,
        )
        figure.line(moved([(0.0, 0.08), (0.02, 0.5), (0.02, 0.95)], 0, -0.5, turn=turn), FINE)


def _bursting(figure: Figure) -> None:
    """Lobes parted, a seed showing between them."""
    _stem(figure)
    for k in range(4):
        a = math.pi / 4 + math.pi / 2 * k
        figure.shape(ellipse((0.24 * math.cos(a), 0.24 * math.sin(a)), 0.26, 0.26), OUTLINE * 0.8)
    figure.shape(ellipse((0, 0.02), 0.16, 0.2), FINE, "wash")


def _nutlet(figure: Figure) -> None:
    figure.shape(
        [(0, 0.62), (-0.36, 0.24), (-0.5, -0.1), (-0.3, -0.5), (0, -0.6), (0.3, -0.5), (0.5, -0.1), (0.36, 0.24)],
        OUTLINE * 0.85,
    )
    figure.line([(0, 0.56), (0.0, 0), (0, -0.56)], HAIR)
    _shade(figure, 0.46, 0.5)


FRUITS: dict[str, Callable[[Figure], None]] = {
    "berry": _berry, "stone_fruit": _stone, "capsule": _capsule, "pod": _pod, "nut": _nut, "dry_ribbed": _ribbed,
    "dry_winged": _winged, "seed_with_down": _down, "hip": _hip, "compound_berry": _compound, "cone": _cone,
    "open_cup": _open_cup, "pome": _pome, "corky_cluster": _corky, "burr": _burr, "follicles": _follicles,
    "bursting_capsule": _bursting, "nutlet": _nutlet,
}  # fmt: skip
