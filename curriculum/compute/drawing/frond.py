"""Fronds of seaweeds by their form and branching: one unit long, the foot at the origin."""

import math
from collections.abc import Callable
from random import Random

from curriculum.compute.drawing.blade import Frond, at_edge, edge_of, midrib, trim
from curriculum.compute.drawing.curves import Point, along, between, ellipse, mirrored, splined, steps
from curriculum.compute.drawing.pen import FINE, HAIR, OUTLINE, Figure
from curriculum.compute.drawing.ribbons import Ribbons, blunt, even, swept


def draw_frond(figure: Figure, frond: Frond) -> None:
    """The frond by its form; a plain blade where the form is unknown is not drawn at all."""
    draw = FORMS.get(frond.form)
    if draw:
        draw(figure, frond, figure.random(f"frond/{frond.form}"))


def _belt(figure: Figure, frond: Frond, random: Random) -> None:
    half = (frond.width or 0.12) / 2
    right = splined(
        [
            (0.02 * half, 0.0),
            (half * 0.5, 0.025 + half * 0.5),
            (half * 0.96, 0.12),
            (half, 0.42),
            (half * 0.9, 0.7),
            (half * 0.5, 0.92),
            (0, 1.0),
        ],
        8,
    )
    _upright_blade(figure, frond, right, half)


def _sheet(figure: Figure, frond: Frond, random: Random) -> None:
    half = (frond.width or 0.62) / 2
    right = splined(
        [
            (0.03, 0.0),
            (half * 0.42, 0.1),
            (half * 0.85, 0.32),
            (half, 0.58),
            (half * 0.8, 0.82),
            (half * 0.4, 0.96),
            (0, 1.0),
        ],
        8,
    )
    _upright_blade(figure, frond, right, half)
    for k in range(7):
        x = half * (-0.7 + 0.23 * k)
        figure.hatch([(x * 0.4, 0.18), (x * 0.8, 0.36), (x, 0.36 + 0.2 * random.random() + 0.08)], 0.2)


def _upright_blade(figure: Figure, frond: Frond, right: list[Point], half: float) -> None:
    edge = edge_of(right, frond)
    outline = [*reversed(mirrored(edge)), *edge[1:]] if edge[0][0] == 0 else [*mirrored(edge), *reversed(edge[:-1])]
    figure.shape(outline, OUTLINE)
    midrib(figure, frond, 0.02, 1.0, half)
    trim(figure, outline, frond, min(0.03, 0.3 * half))
    if frond.branching == "opposite" and frond.midrib in ("distinct", "faint"):
        for k in range(7):
            y = 0.12 + 0.11 * k
            for side in (-1, 1):
                reach = side * at_edge(right, y + 0.1) * 0.9
                figure.stroke([(0, y), (reach * 0.5, y + 0.03), (reach, y + 0.09)], 0.15, head=0.2)
    if frond.margin == "frilled":
        for side in (-1, 1):
            for k in range(16):
                y = 0.1 + 0.05 * k
                x = side * at_edge(right, y)
                figure.hatch([(x * 0.96, y), (x * 0.8, y + 0.012), (x * 0.66, y + 0.008)], 0.18)


def _hand(figure: Figure, frond: Frond, random: Random) -> None:
    """A blade that widens from its foot and splits like a hand, wedge after wedge."""
    ribbons = Ribbons()
    wide = min(1.5, max(0.7, frond.width * 5)) if frond.width else 1.0
    ribbons.add([(0, 0), (0, 0.16), (0, 0.44)], lambda t: (0.012 + 0.13 * t**1.3) * wide)
    for turn, long in ((-0.7, 0.54), (-0.27, 0.64), (0.14, 0.66), (0.58, 0.56)):
        root = (0.15 * turn * wide, 0.32)
        end = (root[0] + 0.72 * wide * long * math.sin(turn), root[1] + long * math.cos(turn))
        forked = frond.branching in ("forked", "palmate", "irregular", "from_margin")
        ribbons.add([root, between(root, end, 0.5), end], lambda t: 0.058 * wide * (1 - 0.25 * t) * _end(t))
        if forked:
            _fork_tip(ribbons, between(root, end, 0.62), turn, long * 0.46)
    if frond.branching == "from_margin" or frond.margin == "leaflets":
        for outline, _ in list(ribbons.parts)[1:]:
            _margin_blades(ribbons, outline)
    ribbons.draw(figure)
    for _, line in ribbons.parts[1:5]:
        figure.hatch([along(line, s) for s in steps(5, 0.1, 0.6)], 0.18)


def _end(t: float) -> float:
    """Rounds off the last tenth."""
    return math.sqrt(max(0.04, 1 - ((t - 0.9) / 0.1) ** 2)) if t > 0.9 else 1.0


def _fork_tip(ribbons: Ribbons, at: Point, turn: float, long: float) -> None:
    for fork in (-0.5, 0.46):
        end = (at[0] + long * math.sin(turn + fork), at[1] + long * math.cos(turn + fork))
        ribbons.add([at, between(at, end, 0.5), end], blunt(0.036))


def _margin_blades(ribbons: Ribbons, outline: list[Point]) -> None:
    for t in (0.2, 0.34, 0.66, 0.82):
        x, y = along(outline, t)
        out = math.copysign(0.06, x)
        ribbons.add(
            [(x * 0.96, y), (x + out * 0.6, y + 0.03), (x + out, y + 0.08)],
            lambda s: 0.008 + 0.014 * math.sin(3.14 * min(1, s * 0.9)),
        )


def _fingers(figure: Figure, frond: Frond, random: Random) -> None:
    """A broad foot split into long straps."""
    ribbons = Ribbons()
    ribbons.add([(0, 0), (0, 0.1), (0, 0.3)], lambda t: 0.02 + 0.2 * math.sin(1.57 * min(1, t * 1.2)))
    for k in range(7):
        turn = -0.6 + 0.2 * k
        root, long = (0.16 * (k - 3) / 3, 0.24), 0.72 * math.cos(turn * 0.7)
        end = (root[0] + long * math.sin(turn) * 0.75, min(1.0, root[1] + long))
        ribbons.add(
            [root, (root[0] + (end[0] - root[0]) * 0.36, root[1] + long * 0.5), end],
            lambda t: 0.042 * (1 - 0.75 * t**3),
        )
    ribbons.draw(figure)


def _wings(figure: Figure, frond: Frond, random: Random) -> None:
    """A ribbon with a midrib; rows of small blades on the stalk below it."""
    half = (frond.width or 0.16) / 2
    for k in range(5):
        for side in (-1, 1):
            y = 0.02 + 0.028 * k
            figure.shape([(0, y), (side * 0.05, y + 0.03), (side * 0.11, y + 0.05), (side * 0.06, y + 0.0)], FINE)
    right = splined(
        [(0.012, 0.16), (half * 0.7, 0.26), (half, 0.45), (half * 0.9, 0.7), (half * 0.4, 0.93), (0, 1.0)], 8
    )
    edge = edge_of(right, frond)
    figure.line([(0, 0), (0, 0.2)], OUTLINE * 1.6)
    figure.shape([*mirrored(edge), *reversed(edge[:-1])])
    midrib(figure, frond, 0.18, 1.0, half)
    trim(figure, edge, frond, 0.02)


def _straps(figure: Figure, frond: Frond, random: Random) -> None:
    ribbons = Ribbons()
    half = (frond.width or 0.03) / 2
    for turn, long in ((-0.5, 0.86), (-0.2, 0.98), (0.12, 1.0), (0.44, 0.9)):
        end = (0.62 * long * math.sin(turn), long * math.cos(turn * 0.5))
        fork = between((0, 0.03), end, 0.45)
        ribbons.add([(0, 0.03), (fork[0] * 0.5, fork[1] * 0.55), fork], even(half))
        for lean in (-0.07, 0.07):
            ribbons.add(
                [fork, (between(fork, end, 0.5)[0] + lean * 0.7, between(fork, end, 0.5)[1]), (end[0] + lean, end[1])],
                lambda t: half * (1 - 0.7 * t * t),
            )
    ribbons.draw(figure)


def _fan(figure: Figure, frond: Frond, random: Random) -> None:
    """Forked in twos again and again; midrib, bladders, channel and edge as recorded."""
    ribbons = Ribbons()
    depth, long, widest = FORKS[frond.form]
    half = min(widest, max(0.012, (frond.width or 0.05) / 2))
    _fork(ribbons, random, (0.0, 0.0), 0.0, long, half, depth)
    ribbons.parts = [(_toothed(outline, frond), line) for outline, line in ribbons.parts]
    ribbons.draw(figure)
    for _, line in ribbons.parts:
        _ribbon_marks(figure, frond, line, half)


# How often they fork, the first reach, and the greatest half width of a branch.
FORKS = {"forked_fan": (4, 0.27, 0.034), "flat_forked": (3, 0.34, 0.044), "channelled_fan": (4, 0.25, 0.022)}


def _fork(ribbons: Ribbons, random: Random, at: Point, turn: float, long: float, half: float, depth: int) -> None:
    end = (at[0] + long * math.sin(turn), at[1] + long * math.cos(turn))
    bend = (between(at, end, 0.5)[0] + random.uniform(-0.01, 0.01), between(at, end, 0.5)[1])
    ribbons.add([at, bend, end], even(half) if depth else blunt(half))
    for lean in (-1, 1) if depth else ():
        _fork(
            ribbons,
            random,
            end,
            turn + lean * random.uniform(0.2, 0.34) * (0.7 + 0.1 * depth),
            long * random.uniform(0.74, 0.92),
            half * 0.95,
            depth - 1,
        )


def _toothed(outline: list[Point], frond: Frond) -> list[Point]:
    if frond.margin != "saw_toothed":
        return outline
    middle = (sum(x for x, _ in outline) / len(outline), sum(y for _, y in outline) / len(outline))
    return [between(p, middle, 0.05) if i % 2 else p for i, p in enumerate(outline)]


def _ribbon_marks(figure: Figure, frond: Frond, line: list[Point], half: float) -> None:
    if frond.midrib in ("distinct", "faint"):
        figure.stroke(line[:: max(1, len(line) // 5)], 0.4 if frond.midrib == "distinct" else 0.16, head=0.1)
    if "channelled" in (frond.section, frond.form.split("_")[0]) or frond.margin == "inrolled":
        figure.line([(x + half * 0.45, y) for x, y in line], FINE)
        figure.line([(x - half * 0.45, y) for x, y in line], HAIR)
    if frond.bladders == "paired":
        x, y = along(line, 0.6)
        for side in (-1, 1):
            figure.shape(ellipse((x + side * half * 0.52, y), half * 0.42, half * 0.62), FINE)
    elif frond.bladders == "whole_tube":
        figure.line([(x + half * 0.7, y) for x, y in line], HAIR)
    elif frond.bladders == "single":
        figure.shape(ellipse(along(line, 0.5), half * 0.9, half * 1.5), FINE)


def _feather(figure: Figure, frond: Frond, random: Random) -> None:
    """A flat axis with branches in opposite pairs, themselves branched."""
    ribbons = Ribbons()
    half = min(0.05, max(0.007, (frond.width or 0.02) / 2))
    ribbons.add([(0, 0), (0.006, 0.4), (0, 0.75), (0, 1.0)], lambda t: half * (1 - 0.6 * t))
    pairs = 11 if frond.form == "feather" or frond.branching == "pinnate" else 8
    for k in range(pairs):
        y, long = 0.08 + 0.82 * k / pairs, 0.46 * math.sin(math.pi * (0.16 + 0.78 * (1 - k / pairs) ** 0.8))
        for side in (-1, 1) if frond.branching != "alternate" else ((-1, 1)[k % 2],):
            _side(ribbons, (0, y), side, long, half * 0.62, frond)
    ribbons.draw(figure, OUTLINE * 0.75)
    if frond.midrib in ("distinct", "faint"):
        for _, line in ribbons.parts:
            figure.stroke(line[:: max(1, len(line) // 4)], 0.3 if frond.midrib == "distinct" else 0.12, head=0.1)
    for outline, _ in ribbons.parts:
        _spines_on(figure, outline, frond, half)


def _side(ribbons: Ribbons, at: Point, side: int, long: float, half: float, frond: Frond) -> None:
    end = (at[0] + side * long * 0.82, at[1] + long * 0.62)
    bend = (at[0] + side * long * 0.42, at[1] + long * 0.24)
    line = [at, bend, end]
    for s in (0.36, 0.62, 0.84):
        root = along(splined(line, 5), s)
        reach = long * 0.26 * (1.1 - s)
        for up in (1, -0.35):
            ribbons.add(
                [
                    root,
                    (root[0] + side * reach * 0.5, root[1] + up * reach * 0.8),
                    (root[0] + side * reach * 0.8, root[1] + up * reach * 1.6 + 0.01),
                ],
                lambda t: half * 0.5 * (1 - 0.7 * t),
            )
    ribbons.add(line, lambda t: half * (1 - 0.7 * t))


# Points of an outline; side branches have no more.
FEW = 26


def _spines_on(figure: Figure, outline: list[Point], frond: Frond, half: float) -> None:
    if frond.margin not in ("spines", "hair_tufts", "saw_toothed"):
        return
    weight = 0.13 if frond.margin == "hair_tufts" else 0.22
    reach = {"spines": 0.9, "saw_toothed": 0.7, "hair_tufts": 1.8}[frond.margin] * max(half, 0.01)
    middle = between(outline[0], outline[len(outline) // 2], 0.5)
    for s in steps(12 if len(outline) > FEW else 5, 0.06, 0.94):
        x, y = along(outline, s)
        out = math.hypot(x - middle[0], y - middle[1]) or 1.0
        figure.stroke(
            [
                (x, y),
                (x + (x - middle[0]) / out * reach * 0.5, y + reach * 0.5),
                (x + (x - middle[0]) / out * reach * 0.7, y + reach),
            ],
            weight,
            head=0.1,
        )


def _bushy(figure: Figure, frond: Frond, random: Random) -> None:
    for turn in (-0.4, -0.12, 0.16, 0.42):
        _twig(figure, random, (0.0, 0.0), turn, 0.3, 4)


def _twig(figure: Figure, random: Random, at: Point, turn: float, long: float, depth: int) -> None:
    end = (at[0] + long * math.sin(turn), at[1] + long * math.cos(turn))
    figure.line(
        [at, (between(at, end, 0.5)[0] + random.uniform(-0.01, 0.01), between(at, end, 0.5)[1]), end],
        OUTLINE * (0.3 + 0.16 * depth),
    )
    for _ in range(3 if depth else 0):
        root = between(at, end, random.uniform(0.4, 1.0))
        _twig(figure, random, root, turn + random.uniform(-0.55, 0.55), long * random.uniform(0.5, 0.78), depth - 1)


def _tube(figure: Figure, frond: Frond, random: Random) -> None:
    """Hollow tubes from one foot, wider upwards, pinched here and there, one cut open at the tip."""
    half = min(0.06, max(0.015, (frond.width or 0.05) / 2))
    for turn, long in ((-0.3, 0.8), (0.32, 0.72), (0.04, 1.0)):
        line = splined([(0, 0), (0.3 * long * math.sin(turn), 0.5 * long), (long * math.sin(turn) * 0.8, long)], 8)
        outline = swept(
            line, lambda t: half * (0.15 + 0.85 * min(1.0, t * 1.7)) * (1 - 0.16 * abs(math.sin(9 * t)) ** 3)
        )
        figure.shape(outline)
        x, y = line[-1]
        figure.shape(ellipse((x, y), half * 0.84, half * 0.3), FINE, "wash")
        for s in (-0.55, -0.3):
            figure.hatch([(px + s * half, py) for px, py in line[4:-2]], 0.2)


def _branched_tube(figure: Figure, frond: Frond, random: Random) -> None:
    ribbons = Ribbons()
    half = min(0.045, max(0.014, (frond.width or 0.05) / 2))
    _fork(ribbons, random, (0.0, 0.0), 0.0, 0.29, half, 3)
    ribbons.draw(figure)
    for _, line in ribbons.parts:
        for s in (-0.5, -0.2):
            figure.hatch([(x + s * half, y) for x, y in line[1:-1]], 0.22)


def _cords(figure: Figure, frond: Frond, random: Random) -> None:
    ribbons = Ribbons()
    half = min(0.012, max(0.004, (frond.width or 0.012) / 2))
    for k in range(6):
        lean = -0.34 + 0.13 * k
        long = random.uniform(0.8, 1.0) if k != 3 else 1.0
        ribbons.add(
            [(0, 0), (lean * 0.4 + 0.05, long * 0.34), (lean * 0.8 - 0.04, long * 0.68), (lean, long)],
            lambda t: half * (1 - 0.8 * t),
        )
    ribbons.draw(figure, OUTLINE * 0.8)


FORMS: dict[str, Callable[[Figure, Frond, Random], None]] = {
    "sheet": _sheet, "hand": _hand, "belt": _belt, "fingers": _fingers, "ribbon_with_wings": _wings, "straps": _straps,
    "forked_fan": _fan, "flat_forked": _fan, "channelled_fan": _fan, "feather": _feather, "flat_opposite": _feather,
    "bushy": _bushy, "tube": _tube, "branched_tube": _branched_tube, "cords": _cords,
}  # fmt: skip
