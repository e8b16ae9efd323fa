"""What a fungus stands on: litter, grass, wood, stones. Drawn light, behind and beside the base."""

import math
from random import Random

from curriculum.compute.drawing.curves import blob, steps
from curriculum.compute.drawing.pen import FINE, OUTLINE, Figure

WOOD = ("broadleaf_deadwood", "conifer_deadwood", "living_tree", "buried_wood", "woodchip")


def draw_ground(figure: Figure, substrate: str, reach: float, gap: float, level: float) -> None:
    """The ground at both sides of a base: `reach` and `gap` are half widths in mm; nothing where it is unknown."""
    if not substrate:
        return
    random = figure.random("ground")
    if substrate in WOOD:
        _log(figure, random, reach, level)
        return
    for side in (-1, 1):
        _soil(figure, random, side * gap, side * reach, level, substrate)


def _soil(figure: Figure, random: Random, a: float, b: float, level: float, substrate: str) -> None:
    length = abs(b - a)
    figure.stroke([(a, level), (a + (b - a) * 0.4, level - 0.012 * length), (b, level + 0.006 * length)], 0.3)
    if substrate == "wood_soil":
        _litter(figure, random, a, b, level)
    blades = {"grass_soil": 13, "wood_soil": 2, "wet_soil": 5}.get(substrate, 4)
    tall = {"grass_soil": 0.3, "wet_soil": 0.26}.get(substrate, 0.11)
    for _ in range(blades):
        x = a + (b - a) * random.uniform(0.08, 0.95)
        h, lean = length * tall * random.uniform(0.4, 1.0), length * random.uniform(-0.06, 0.06)
        figure.stroke([(x, level), (x + lean * 0.3, level + h * 0.6), (x + lean, level + h)], 0.26, head=0.15)


def _litter(figure: Figure, random: Random, a: float, b: float, level: float) -> None:
    """Two fallen leaves, nearly edge on."""
    for share in (0.34, 0.74):
        x, w = a + (b - a) * (share + random.uniform(-0.08, 0.08)), abs(b - a) * random.uniform(0.11, 0.15)
        lift = random.uniform(0.16, 0.3) * w
        upper = [
            (x - w, level + 0.02 * w),
            (x - w * 0.3, level + lift),
            (x + w * 0.5, level + lift * 1.1),
            (x + w, level + lift * 0.5),
        ]
        figure.shape([*upper, (x + w * 0.2, level + lift * 0.25)], FINE)
        figure.stroke([upper[0], (x, level + lift * 0.7), upper[3]], 0.15)


def _log(figure: Figure, random: Random, reach: float, level: float) -> None:
    """A lying piece of wood from end to end, with its grain."""
    depth = 0.3 * reach
    edge = [(reach * s, level + 0.015 * reach * math.sin(4 * s + 1)) for s in steps(10, -1, 1)]
    ends = [
        (reach * 1.05, level - depth * 0.5),
        (reach * 0.98, level - depth),
        (-reach * 0.99, level - depth),
        (-reach * 1.04, level - depth * 0.45),
    ]
    figure.shape([*edge, *ends], OUTLINE * 0.8, "wash")
    for _ in range(16):
        x, y = reach * random.uniform(-0.95, 0.75), level - depth * random.uniform(0.15, 0.9)
        w = reach * random.uniform(0.08, 0.2)
        figure.stroke([(x, y), (x + w * 0.5, y + 0.01 * reach), (x + w, y)], 0.22)


def draw_trunk(figure: Figure, substrate: str, width: float, low: float, high: float) -> None:
    """A standing trunk left of x = 0, its bark by the kind of wood; a dotted line where that is unknown."""
    random = figure.random("trunk")
    height = high - low
    edge = [(0.02 * width * math.sin(i * 1.7), low + height * i / 14) for i in range(15)]
    if not substrate:
        figure.line(edge, FINE, dotted=True)
        return
    figure.area([(-width, low), *edge, (-width, high)], "wash")
    figure.line(edge, OUTLINE)
    draw = _conifer_bark if substrate == "conifer_deadwood" else _smooth_bark
    draw(figure, random, width, low, high)


def _smooth_bark(figure: Figure, random: Random, width: float, low: float, high: float) -> None:
    for k in range(40):
        y, x = low + (high - low) * (k + random.uniform(0, 1)) / 40, -random.uniform(0.06, 0.85) * width
        w = random.uniform(0.04, 0.14) * width
        figure.stroke([(x - w, y), (x, y + 0.004 * (high - low)), (x + w, y)][: 3 if x + w < 0 else 2], 0.3)
    for k in range(30):
        y = low + (high - low) * (k + 0.5) / 30
        figure.hatch([(-0.03 * width, y), (-0.1 * width, y), (-random.uniform(0.14, 0.3) * width, y)], 0.24, head=0.15)


def _conifer_bark(figure: Figure, random: Random, width: float, low: float, high: float) -> None:
    """Long plates, parted by upright cracks that fork and close again."""
    tall = high - low
    for column in range(6):
        x = -width * (0.1 + 0.165 * column)
        y = low + random.uniform(0, 0.08) * tall
        while y < high - 0.04 * tall:
            end = min(y + random.uniform(0.1, 0.2) * tall, high - 0.01 * tall)
            bend = random.choice((-1, 1)) * 0.05 * width
            crack = [
                (x - bend, y),
                (x + bend, y + (end - y) * 0.35),
                (x - bend * 0.4, y + (end - y) * 0.7),
                (x + bend * 0.8, end),
            ]
            figure.stroke(crack, 0.42, head=0.5)
            figure.hatch([(x + bend * 1.6, y + (end - y) * 0.3), (x + bend * 2.2, y + (end - y) * 0.55)], 0.2)
            y = end + 0.02 * tall


def draw_stones(figure: Figure, reach: float, level: float) -> None:
    """A few stones to hold a seaweed."""
    random = figure.random("stones")
    for share, size in ((-0.55, 0.34), (0.5, 0.4), (0.0, 0.5)):
        middle = (share * reach, level - size * reach * 0.5)
        stone = blob(random, middle, size * reach, size * reach * 0.55, 0.12, 9)
        figure.shape(stone, OUTLINE * 0.8, "wash")
        for k in range(5):
            x, y = middle[0] - size * reach * (0.6 - 0.2 * k), middle[1] - size * reach * 0.3
            figure.hatch(
                [(x, y), (x + 0.06 * reach, y + 0.07 * reach), (x + 0.1 * reach, y + 0.16 * reach)], 0.2, within=stone
            )
