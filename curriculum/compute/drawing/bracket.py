"""Fans and brackets on their wood: above, one seen from beneath; below, one cut from the wood to the edge.

The recorded width is the greatest extent along the wood. How far a bracket stands off and how thick it is follow the
words of the vocabulary in fixed proportions, common practice of drawing, no source.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from random import Random

from curriculum.compute.drawing.curves import Point, along, at_x, between, blob, ellipse, inside, splined, steps
from curriculum.compute.drawing.ground import draw_trunk
from curriculum.compute.drawing.pen import FINE, HAIR, OUTLINE, Figure, Size
from curriculum.compute.drawing.specimen import Specimen

# Reach as a share of the width, then the upper half of the outline: x in shares of the reach, y of the half width.
PLANS: dict[str, tuple[float, tuple[Point, ...]]] = {
    "fan": (
        0.95,
        ((0, 0.1), (0.08, 0.36), (0.26, 0.72), (0.52, 0.96), (0.74, 0.98), (0.91, 0.7), (0.985, 0.34), (1, 0)),
    ),
    "shell": (0.8, ((0, 0.16), (0.05, 0.5), (0.22, 0.84), (0.47, 1), (0.74, 0.88), (0.93, 0.52), (1, 0))),
    "tongue": (1.35, ((0, 0.28), (0.2, 0.52), (0.45, 0.82), (0.7, 1), (0.88, 0.84), (0.98, 0.4), (1, 0))),
    "kidney": (
        0.64,
        ((0.16, 0.06), (0.05, 0.24), (0, 0.56), (0.1, 0.88), (0.36, 1), (0.68, 0.86), (0.92, 0.5), (1, 0)),
    ),
    "ear": (0.85, ((0, 0.1), (0.12, 0.42), (0.34, 0.8), (0.66, 1), (0.9, 0.84), (1, 0.36), (1, 0))),
    "half": (0.6, ((0, 0.93), (0.12, 1), (0.42, 0.92), (0.72, 0.7), (0.93, 0.38), (1, 0))),
}
THICK = {"thick": 0.2, "medium": 0.14, "thin": 0.075, "see_through": 0.035}
LINES = {"crowded": 78, "close": 62, "medium": 46, "distant": 30}


@dataclass(frozen=True, slots=True)
class Shelf:
    """A fan or bracket in millimetres: width along the wood, reach, stub to the cap, thickness at the wood."""

    width: float
    reach: float
    stub: float
    stub_width: float
    thick: float
    plan: str
    kind: str
    attachment: str
    spacing: str
    margin: str

    @property
    def hub(self) -> Point:
        """Where gills come together."""
        return self.stub + self.reach * (0.16 if self.plan == "kidney" else 0.02), 0.0


def shelf_on_wood(specimen: Specimen) -> Figure:
    """One from beneath and one cut, on one trunk, at one scale."""
    width = specimen.size("cap_width")
    figure = Figure(specimen.taxon, measured=width is not None)
    shelf = _shelf(specimen, width or 60.0)
    drop = -(shelf.width * 0.5 + max(2.2 * shelf.thick, 0.2 * shelf.width))
    trunk = min(0.42 * shelf.width, 0.5 * shelf.reach)
    draw_trunk(
        figure, specimen.state("substrate"), trunk, drop - 2.6 * shelf.thick - 0.06 * shelf.width, 0.6 * shelf.width
    )
    recorded = [Size("cap_width", shelf.width, "height")] if width else []
    _beneath(figure, shelf, specimen, recorded)
    _cut(figure, shelf, specimen, drop)
    return figure


def _shelf(specimen: Specimen, width: float) -> Shelf:
    form, shape = specimen.state("form"), specimen.state("cap_shape", PLANS)
    plan = shape or ("half" if form == "bracket" else "fan")
    stem = specimen.state("stem")
    length = specimen.size("stem_length") if stem == "present" else None
    stub = min(length or 0.12 * width, 0.5 * width) if stem in ("present", "stub") else 0.0
    thickness = THICK.get(specimen.state("flesh_thickness"), 0.14)
    stub_width = specimen.size("stem_width") if stem == "present" else None
    return Shelf(
        width, PLANS[plan][0] * width, stub, min(stub_width or 0.14 * width, 0.4 * width), thickness * width, plan,
        specimen.state("underside"), specimen.state("gill_attachment"), specimen.state("gill_spacing"),
        specimen.state("cap_margin"),
    )  # fmt: skip


def _outline(shelf: Shelf, random: Random) -> list[Point]:
    """The plan from the upper corner at the wood round to the lower one, as high as the recorded width."""
    half = [(x * shelf.reach, y * shelf.width / 2) for x, y in PLANS[shelf.plan][1]]
    whole = splined([*half, *[(x, -y) for x, y in reversed(half[:-1])]], 5)
    rough = {"wavy": 0.035, "lobed": 0.075, "splitting": 0.03}.get(shelf.margin, 0.008)
    phase = random.uniform(0, 6)
    last = len(whole) - 1
    bent = [_bent(p, i / last, rough, phase) for i, p in enumerate(whole)]
    tall = max(y for _, y in bent) - min(y for _, y in bent)
    return [(x + shelf.stub, y * shelf.width / tall) for x, y in bent]


def _bent(point: Point, t: float, rough: float, phase: float) -> Point:
    """A ripple that dies out towards the wood."""
    fade = math.sin(math.pi * t) ** 0.7
    k = 1 + rough * fade * (math.sin(17 * math.pi * t + phase) + 0.5 * math.sin(31 * math.pi * t + 2 * phase)) / 1.5
    return point[0] * k, point[1] * k


def _beneath(figure: Figure, shelf: Shelf, specimen: Specimen, sizes: list[Size]) -> None:
    outline = _outline(shelf, figure.random("outline"))
    figure.area(outline)
    if shelf.kind in ("gills", "folds"):
        _gills(figure, shelf, outline)
    elif shelf.kind == "pores":
        _pores(figure, shelf, outline, specimen.state("pores"))
    if shelf.stub:
        _stub(figure, shelf, specimen.state("stem_surface"))
    figure.line(outline, OUTLINE * 1.15, sizes=sizes)
    _edge(figure, shelf, outline)
    figure.anchor("cap_shape", along(outline, 0.2))
    figure.anchor("cap_margin", along(outline, 0.42))
    figure.anchor("cap_width", along(outline, 0.3))
    figure.anchor("underside", (shelf.stub + shelf.reach * 0.62, shelf.width * 0.12))
    figure.anchor("gill_spacing", (shelf.stub + shelf.reach * 0.6, -shelf.width * 0.2))


def _gills(figure: Figure, shelf: Shelf, outline: list[Point]) -> None:
    random, hub = figure.random("gills"), shelf.hub
    count = LINES.get(shelf.spacing, 46)
    for k in range(1, count):
        end = along(outline, k / count)
        start = (0.02, 0.5, 0.28, 0.5)[k % 4] + random.uniform(-0.03, 0.05)
        first = max(start, _line_share(shelf))
        bend = (hub[0] + (end[0] - hub[0]) * 0.5, hub[1] + (end[1] - hub[1]) * 0.5 * random.uniform(0.92, 1.0))
        points = [_quadratic(hub, bend, end, s) for s in steps(7, first, 0.985)]
        figure.stroke(points, 0.22, head=0.3, within=outline)
    if shelf.attachment == "sharp_line":
        _sharp_line(figure, shelf)


def _line_share(shelf: Shelf) -> float:
    return 0.16 if shelf.attachment == "sharp_line" else 0.0


def _sharp_line(figure: Figure, shelf: Shelf) -> None:
    r = 0.14 * shelf.reach
    figure.line([(shelf.hub[0] + r * math.cos(a), r * math.sin(a) * 1.25) for a in steps(10, -1.45, 1.45)], OUTLINE)


def _quadratic(a: Point, b: Point, c: Point, t: float) -> Point:
    return between(between(a, b, t), between(b, c, t), t)


def _pores(figure: Figure, shelf: Shelf, outline: list[Point], pores: str) -> None:
    random = figure.random("pores")
    gap = shelf.width / {"large_angular": 20, "maze": 24, "separate_tubes": 26}.get(pores, 32)
    rows = int(1.1 * shelf.width / gap)
    for r in range(-rows // 2, rows // 2 + 1):
        for c in range(int(1.1 * shelf.reach / gap)):
            at = (shelf.stub + (c + 0.5 * (r % 2)) * gap + random.uniform(-0.2, 0.2) * gap, r * gap * 0.9)
            if inside((at[0] + gap * 0.5, at[1]), outline) and inside((at[0] - gap * 0.5, at[1]), outline):
                _pore(figure, random, at, gap, pores)


def _pore(figure: Figure, random: Random, at: Point, gap: float, pores: str) -> None:
    if pores == "large_angular":
        figure.cell(blob(random, at, gap * 0.4, gap * 0.4, 0.25, 5))
    elif pores == "separate_tubes":
        figure.cell(ellipse(at, gap * 0.32, gap * 0.32, whole=8), HAIR, "paper")
    elif pores == "maze":
        figure.stroke(
            [(at[0] - gap * 0.5, at[1]), (at[0], at[1] + gap * 0.4), (at[0] + gap * 0.5, at[1] - gap * 0.2)], 0.3
        )
    else:
        figure.dot(at, 0.34)


def _stub(figure: Figure, shelf: Shelf, surface: str) -> None:
    half, end = shelf.stub_width / 2, shelf.hub[0] + 0.07 * shelf.reach
    upper = [(0, half * 1.2), (shelf.stub * 0.5, half * 0.95), (shelf.stub, half * 1.05), (end, half * 0.35)]
    outline = [*upper, *[(x, -y) for x, y in reversed(upper)]]
    figure.area(outline)
    figure.line(upper[:3])
    figure.line([(x, -y) for x, y in upper[:3]])
    random = figure.random("stub")
    for k in range(9):
        y = half * (0.8 - 1.6 * k / 8)
        if shelf.attachment == "running_down":
            figure.stroke(
                [(end, y * 0.5), (shelf.stub * 0.7, y * 0.9), (shelf.stub * random.uniform(0.1, 0.35), y)],
                0.22,
                head=0.2,
            )
    _stub_surface(figure, shelf, random, surface)
    figure.anchor("stem", (shelf.stub * 0.4, half))
    figure.anchor("stem_surface", (shelf.stub * 0.3, -half * 0.8))


def _stub_surface(figure: Figure, shelf: Shelf, random: Random, surface: str) -> None:
    half = shelf.stub_width / 2
    if surface == "dots":
        for _ in range(46):
            figure.dot(
                (random.uniform(0.08, 0.95) * shelf.stub, random.uniform(-0.9, 0.9) * half), random.uniform(0.25, 0.42)
            )
    if surface in ("woolly_base", "velvety", "shaggy"):
        for k in range(30):
            x, y = random.uniform(0, 0.3) * shelf.stub, half * (1.15 if k % 2 else -1.15)
            figure.stroke([(x, y), (x + 0.2 * half, y * 1.2), (x + 0.1 * half, y * 1.45)], 0.17)


def _edge(figure: Figure, shelf: Shelf, outline: list[Point]) -> None:
    """A rolled edge shows as a second line; splits run in from the edge."""
    if shelf.margin == "inrolled":
        middle = (shelf.stub + 0.45 * shelf.reach, 0.0)
        figure.line([between(along(outline, t), middle, 0.06) for t in steps(24, 0.14, 0.86)], FINE)
    if shelf.margin == "splitting":
        for t in (0.34, 0.47, 0.62, 0.72):
            tip = between(along(outline, t), shelf.hub, 0.2)
            figure.shape([along(outline, t - 0.008), tip, along(outline, t + 0.008)], FINE)


def _cut(figure: Figure, shelf: Shelf, specimen: Specimen, drop: float) -> None:
    """From the wood to the edge: flesh above, gills or tubes below."""
    length, thick = shelf.stub + shelf.reach, shelf.thick
    root = shelf.stub / length if shelf.stub else 0.0
    top = [
        (length * t, drop + thick * (0.35 + 0.5 * math.sin(math.pi * min(1, t * 1.15)) - 1.05 * t**2.4))
        for t in steps(24)
    ]
    ceiling = [(length * t, at_x(top, length * t) - thick * (0.9 * (1 - t**2) + 0.04)) for t in steps(24, root)]
    floor = [(x, y - _hang(shelf, (x / length - root) / (1 - root))) for x, y in ceiling]
    foot = _foot(shelf, floor, top)
    figure.area([*top, *reversed(floor), *foot])
    if shelf.kind in ("gills", "folds", "pores", "spines"):
        figure.area([*ceiling, *reversed(floor)], "wash")
        _hanging(figure, shelf, ceiling, floor)
        figure.line(ceiling, FINE)
    figure.line([*reversed(foot), *floor[0 if foot else 1 :]], OUTLINE * 0.9)
    figure.line(top, OUTLINE)
    figure.line([top[-1], floor[-1]], OUTLINE)
    _fleck(figure, top, ceiling)
    _zones(figure, specimen, shelf, top, drop)
    figure.anchor("flesh_thickness", (length * 0.45, (at_x(top, length * 0.45) + at_x(ceiling, length * 0.45)) / 2))
    figure.anchor("gill_attachment", floor[1])
    figure.anchor("cap_surface", (length * 0.66, at_x(top, length * 0.66)))


def _hang(shelf: Shelf, t: float) -> float:
    """Depth of gills or tubes at the share t of the way from the wood to the edge."""
    deep = {"gills": 0.055, "folds": 0.035, "pores": 0.06, "spines": 0.06}.get(shelf.kind, 0.0) * shelf.width
    start = MEETING.get(shelf.attachment, _meeting_unknown)(t)
    down = 0.5 * max(0.0, 1 - t / 0.3) ** 2 if shelf.attachment == "running_down" else 0.0
    return deep * (math.pow(max(0.0, 1 - t**3), 0.8) * start + down)


def _meeting_unknown(t: float) -> float:
    return min(1.0, 0.3 + t * 5)


# How deep the gills are where they meet the wood or the stub, as a share of their full depth.
MEETING: dict[str, Callable[[float], float]] = {
    "sharp_line": lambda t: min(1.0, t * 40),
    "broad": lambda t: min(1.0, 0.5 + t * 6),
    "slightly_down": lambda t: 1.0,
    "running_down": lambda t: 1.0,
    "free": lambda t: min(1.0, max(0.0, t - 0.06) * 6),
    "nearly_free": lambda t: min(1.0, 0.1 + t * 4),
    "notched": lambda t: min(1.0, 0.3 + abs(t - 0.07) * 7),
}


def _foot(shelf: Shelf, floor: list[Point], top: list[Point]) -> list[Point]:
    """The cut stub, from its lower edge at the cap to the wood; nothing where the cap sits on the wood itself."""
    if not shelf.stub:
        return []
    low = top[0][1] - max(shelf.stub_width, 1.1 * shelf.thick)
    return [(shelf.stub * 0.6, min(floor[0][1], low + 0.1 * shelf.stub_width)), (0.0, low - 0.1 * shelf.stub_width)]


def _hanging(figure: Figure, shelf: Shelf, ceiling: list[Point], floor: list[Point]) -> None:
    random, outline = figure.random("hanging"), [*ceiling, *reversed(floor)]
    low, high = ceiling[0][0], ceiling[-1][0]
    if shelf.kind in ("pores", "spines"):
        for x in steps(46, low, high)[1:-1]:
            figure.line([(x, at_x(ceiling, x)), (x, at_x(floor, x))], HAIR)
        return
    for k in range(1, {"crowded": 8, "close": 6, "medium": 5, "distant": 3}.get(shelf.spacing, 5)):
        share = k / 6 + random.uniform(-0.05, 0.05)
        xs = steps(9, low + (high - low) * random.uniform(0, 0.15), low + (high - low) * random.uniform(0.7, 0.96))
        line = [(x, at_x(ceiling, x) * (1 - share) + at_x(floor, x) * share) for x in xs]
        figure.stroke(line, 0.15, head=0.2, within=outline)


def _fleck(figure: Figure, top: list[Point], ceiling: list[Point]) -> None:
    random = figure.random("flesh")
    low, high = ceiling[0][0], ceiling[-1][0]
    for _ in range(24):
        x = low + (high - low) * random.uniform(0.02, 0.85)
        figure.dot(
            (x, at_x(ceiling, x) + (at_x(top, x) - at_x(ceiling, x)) * random.uniform(0.2, 0.85)), 0.17, hatch=True
        )


def _zones(figure: Figure, specimen: Specimen, shelf: Shelf, top: list[Point], drop: float) -> None:
    """What the upper surface bears, in profile on the cut."""
    surface = specimen.state("cap_surface")
    random, h = figure.random("nap"), 0.02 * shelf.width
    if surface in ("velvety", "downy", "shaggy", "scaly"):
        tall = h * {"shaggy": 2.4, "scaly": 1.6}.get(surface, 1.0)
        for t in steps(46, 0.03, 0.95):
            x, y = along(top, t)
            figure.stroke(
                [(x, y), (x - tall * 0.2, y + tall * 0.6), (x + tall * random.uniform(-0.5, 0.3), y + tall)], 0.17
            )
    if surface in ("bumpy", "wrinkled", "zoned"):
        for t in steps(9, 0.08, 0.92):
            x, y = along(top, t)
            figure.shape([(x - h * 1.3, y), (x, y + h), (x + h * 1.3, y - h * 0.2)], FINE)
