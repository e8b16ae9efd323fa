"""The right half of a cap, cut open: flesh, and the gills, folds, tubes or spines under it by how they meet the stem.

The depth of gills and the thickness of flesh are no recorded sizes: they follow the words of the vocabulary in fixed
proportions, common practice of drawing, no source.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from random import Random

from curriculum.compute.drawing.cap import TILT, Cap
from curriculum.compute.drawing.curves import Point, along, at_x, bump, mirrored, splined, steps
from curriculum.compute.drawing.pen import FINE, HAIR, OUTLINE, Figure
from curriculum.compute.drawing.stem import Stem

# Shares of the cap's half width.
DEPTH = {"gills": 0.15, "folds": 0.085, "pores": 0.19, "spines": 0.15, "smooth": 0.0, "none": 0.0, "hidden": 0.08}
RUN = {"slightly_down": 0.13, "running_down": 0.42}
FLESH = {"thick": 0.52, "medium": 0.36, "thin": 0.2, "see_through": 0.11}
TALL = 0.9
SPACING = {"crowded": 13, "close": 10, "medium": 7, "distant": 4}


@dataclass(frozen=True, slots=True)
class Under:
    """What is under a cap: kind, attachment and spacing as words of the vocabulary, "" where unknown."""

    kind: str
    attachment: str
    spacing: str
    edge: str
    pores: str


@dataclass(frozen=True, slots=True)
class Section:
    """A cut cap on its stem: heights at a distance x from the axis, in millimetres over the ground."""

    cap: Cap
    stem: Stem
    under: Under
    flesh: float

    @property
    def start(self) -> float:
        """Where the stem ends and the underside begins."""
        return self.stem.half(1.0)

    def share(self, x: float) -> float:
        """0 at the stem, 1 at the margin."""
        return max(0.0, (x - self.start) / (self.cap.radius - self.start))

    def ceiling(self, x: float) -> float:
        """The lower edge of the flesh."""
        thick = (
            min(self.flesh, 0.3 * self.cap.radius) if self.cap.profile[0][1] > TALL * self.cap.radius else self.flesh
        )
        return self.cap.top(x) - thick * (1 - math.pow(self.share(x), 2.2)) - 0.012 * self.cap.radius

    def floor(self, x: float) -> float:
        """The edge of the gills, or the mouths of the tubes."""
        if self.cap.profile[0][1] > TALL * self.cap.radius:
            return self._filled(x)
        return self.ceiling(x) - self.depth(self.share(x))

    def _filled(self, x: float) -> float:
        """In a tall cap the gills hang down beside the stem, to near the level of the margin."""
        level = self.cap.level + 0.1 * self.cap.radius * (1 - self.share(x))
        gap = ATTACHED.get(self.under.attachment, _broad)(self.share(x))
        return self.ceiling(x) - max(0.0, self.ceiling(x) - level) * gap

    def depth(self, t: float) -> float:
        """Depth of the gills at the share t of the way from the stem to the margin."""
        deep = DEPTH.get(self.under.kind, 0.0) * self.cap.radius
        return deep * math.pow(max(0.0, 1 - t**3.2), 0.8) * ATTACHED.get(self.under.attachment, _broad)(t)


def _free(t: float) -> float:
    return 0.0 if t < 0.05 else 1 - math.exp(-(((t - 0.05) / 0.12) ** 1.3))


def _nearly_free(t: float) -> float:
    return 1 - 0.78 * math.exp(-((t / 0.17) ** 1.5))


def _notched(t: float) -> float:
    return 1 - 0.74 * bump(t, 0.085, 0.075) - 0.25 * bump(t, 0, 0.05)


def _square(t: float) -> float:
    return 1.0


def _broad(t: float) -> float:
    return 0.86 + 0.14 * min(1.0, t * 4)


ATTACHED: dict[str, Callable[[float], float]] = {
    "free": _free,
    "nearly_free": _nearly_free,
    "notched": _notched,
    "sharp_line": _square,
}


def flesh_under(kind: str, height: float, radius: float, thickness: str) -> float:
    """Thickness of the flesh at the stem, in millimetres."""
    return FLESH.get(thickness, 0.42) * max(height, 0.3 * radius)


def draw_section(figure: Figure, section: Section) -> None:
    """The cut face and what hangs under it; the outline of the cap's top is drawn by the caller."""
    cap = section.cap
    xs = steps(36, section.start, cap.radius)
    ceiling = [(x, section.ceiling(x)) for x in xs]
    floor = _floor_line(section, xs)
    profile = [(x, cap.level + y) for x, y in cap.profile]
    figure.area([*profile, *reversed(ceiling), (0, min(ceiling[0][1], profile[0][1] - 0.4 * section.flesh))])
    if section.under.kind in DRAW:
        figure.area(hanging(section, ceiling, floor), "wash")
        DRAW[section.under.kind](figure, section, ceiling, floor)
        figure.line(ceiling, FINE)
        figure.line(floor, OUTLINE * 0.85)
        figure.anchor("underside", (cap.radius * 0.72, section.floor(cap.radius * 0.72)))
        figure.anchor("gill_attachment", along_floor(floor))
        figure.anchor(
            "gill_spacing",
            (cap.radius * 0.5, (section.floor(cap.radius * 0.5) + section.ceiling(cap.radius * 0.5)) / 2),
        )
    else:
        figure.line(ceiling, OUTLINE * 0.85)
    _flecks(figure, section)


def along_floor(floor: list[Point]) -> Point:
    """Where the gill edge meets, or fails to meet, the stem."""
    return floor[2]


def _floor_line(section: Section, xs: list[float]) -> list[Point]:
    """The gill edge; where gills run down, it starts lower, on the stem."""
    run = min(RUN.get(section.under.attachment, 0.0) * section.cap.radius, 0.6 * section.stem.length)
    if not run:
        return [(x, section.floor(x)) for x in xs]
    low = 1 - run / section.stem.length
    deep = DEPTH.get(section.under.kind, 0.0) * section.cap.radius
    middle, top = section.stem.at((1 + low) / 2, 1), section.stem.at(1, 1)
    joint = 0.9 * min(run, deep)
    on_stem = [
        section.stem.at(low, 1),
        (middle[0] + 0.4 * joint, middle[1]),
        (top[0] + joint, section.floor(top[0] + joint) - 0.15 * joint),
    ]
    reach = on_stem[-1][0] + 0.08 * section.cap.radius
    return splined([*on_stem, *[(x, section.floor(x)) for x in xs if x > reach]], 4)


def hanging(section: Section, ceiling: list[Point], floor: list[Point]) -> list[Point]:
    """The closed outline of what hangs under the flesh: along the flesh, back along its edge, and up the stem."""
    low = min(1.0, floor[0][1] / section.stem.length)
    return [*ceiling, *reversed(floor), *[section.stem.at(t, 1) for t in steps(5, low, 1)[1:-1]]]


def underside_seen(figure: Figure, section: Section) -> None:
    """Below the rim of a funnel the underside is seen from outside: gills or folds sweep from the rim to the stem."""
    cap = section.cap
    floor = _floor_line(section, steps(36, section.start, cap.radius))
    outline = [*mirrored(floor), *cap.rim()[1:], (0, floor[0][1])]
    figure.area(outline)
    figure.line(mirrored(floor), OUTLINE)
    if section.under.kind in ("gills", "folds"):
        _ribs(figure, section, floor, outline)


def _ribs(figure: Figure, section: Section, floor: list[Point], outline: list[Point]) -> None:
    count = 2 * SPACING.get(section.under.spacing, 6)
    random = figure.random("ribs")
    for k in range(count):
        a = -math.pi / 2 * (1 - (k + 0.6) / count) ** 0.85
        low = random.uniform(0.0, 0.1) if k % 2 else random.uniform(0.3, 0.6)
        points = [_round(section, along(floor, s), a) for s in steps(10, low, 0.985)]
        figure.stroke(points, 0.36 if section.under.kind == "folds" else 0.22, head=0.5, within=outline)
        if section.under.kind == "folds" and k % 2:
            fork = [
                _round(section, along(floor, s), a + 0.5 * (s - 0.5) * math.pi / count) for s in steps(6, 0.5, 0.97)
            ]
            figure.stroke(fork, 0.3, head=0.5, within=outline)


def _round(section: Section, point: Point, azimuth: float) -> Point:
    """A point of the underside turned about the axis; the near side lies lower, as the rim does."""
    x, y = point
    up = section.cap.wave * section.cap.radius * (x / section.cap.radius) ** 3
    up *= math.sin(section.cap.lobes * azimuth + 0.9) * math.cos(azimuth)
    return x * math.sin(azimuth), y - TILT * x * math.cos(azimuth) * (x / section.cap.radius) + up


def _flecks(figure: Figure, section: Section) -> None:
    random = figure.random("flesh")
    for _ in range(22):
        x = random.uniform(0.03, 0.82) * section.cap.radius
        low, high = section.ceiling(max(x, section.start)), section.cap.top(x)
        figure.dot((x, high - (high - low) * random.uniform(0.2, 0.85)), 0.17, hatch=True)


def _gills(figure: Figure, section: Section, ceiling: list[Point], floor: list[Point]) -> None:
    """The face of one gill: lines that sweep from the stem to the margin, no two alike."""
    random, outline = figure.random("gill face"), hanging(section, ceiling, floor)
    count = SPACING.get(section.under.spacing, 6)
    for k in range(1, count):
        share = k / count + random.uniform(-0.2, 0.2) / count
        start, end = random.uniform(0.0, 0.28), random.uniform(0.72, 0.97)
        figure.stroke(_between(ceiling, floor, share, start, end), 0.16, head=0.2, within=outline)


def _between(ceiling: list[Point], floor: list[Point], share: float, start: float, end: float) -> list[Point]:
    """A line between flesh and gill edge, rising to the flesh towards the margin."""
    low, high = floor[0][0], floor[-1][0]
    xs = steps(9, low + (high - low) * start, low + (high - low) * end)
    return [(x, _mix(at_x(ceiling, x), at_x(floor, x), share)) for x in xs]


def _mix(a: float, b: float, t: float) -> float:
    return a + (b - a) * t


def _folds(figure: Figure, section: Section, ceiling: list[Point], floor: list[Point]) -> None:
    """Low blunt ridges: two thick lines and no more."""
    outline = [*ceiling, *reversed(floor)]
    for share, start in ((0.42, 0.0), (0.72, 0.16)):
        figure.stroke(_between(ceiling, floor, share, start, 0.93), 0.3, head=0.3, within=outline)


def _tubes(figure: Figure, section: Section, ceiling: list[Point], floor: list[Point]) -> None:
    """Tubes side by side; apart from one another where that is recorded."""
    random, pores = figure.random("tubes"), section.under.pores
    count = {"large_angular": 16, "maze": 20, "separate_tubes": 24}.get(pores, 38)
    wide = (section.cap.radius - section.start) / count
    for k in range(1, count):
        x = section.start + wide * k
        top, low = at_x(ceiling, x), at_x(floor, x)
        if top - low > 0.012 * section.cap.radius:
            lean = 0.012 * section.cap.radius * (random.uniform(-1, 1) if pores == "maze" else 0.2)
            for aside in (-0.3 * wide, 0.3 * wide) if pores == "separate_tubes" else (0.0,):
                figure.line([(x + aside, top), (x + aside + lean, (top + low) / 2), (x + aside, low)], HAIR)


def _spines(figure: Figure, section: Section, ceiling: list[Point], floor: list[Point]) -> None:
    random, count = figure.random("spines"), 26
    width = (section.cap.radius - section.start) / count
    figure.area([*ceiling, *reversed(floor)])
    for k in range(count):
        x = section.start + width * (k + 0.5)
        top, low = at_x(ceiling, x), at_x(floor, x) + random.uniform(0, 0.025) * section.cap.radius
        if top - low > 0.02 * section.cap.radius:
            tip = (x + random.uniform(-0.2, 0.2) * width, low)
            figure.shape([(x - width * 0.48, top), tip, (x + width * 0.48, top)], FINE * 0.9, "wash")


def _veil(figure: Figure, section: Section, ceiling: list[Point], floor: list[Point]) -> None:
    """Gills still hidden: a skin closes the room below them."""
    figure.line(
        [section.stem.at(0.9, 1), (section.cap.radius * 0.6, floor[-1][1] - 0.05 * section.cap.radius), floor[-1]], FINE
    )


DRAW: dict[str, Callable[[Figure, Section, list[Point], list[Point]], None]] = {
    "gills": _gills, "folds": _folds, "pores": _tubes, "spines": _spines, "hidden": _veil,
}  # fmt: skip


def edge_ornaments(figure: Figure, cap: Cap, margin: str, random: Random) -> None:
    """What hangs on, or is cut into, the near edge of the cap."""
    draw = EDGES.get(margin)
    if draw:
        draw(figure, cap, random)


def _lined(figure: Figure, cap: Cap, random: Random) -> None:
    last = len(cap.profile) - 1
    for k in range(17):
        a = -math.pi / 2 * (k + 0.5) / 17
        figure.stroke([cap.seen(last * s, a) for s in (0.985, 0.92, 0.86, random.uniform(0.76, 0.82))], 0.2, head=0.2)


def _grooved(figure: Figure, cap: Cap, random: Random) -> None:
    last = len(cap.profile) - 1
    for k in range(9):
        a = -math.pi / 2 * (k + 0.5) / 9
        x, y = cap.seen(last, a)
        w = 0.03 * cap.radius
        figure.shape([(x - w, y - w * 0.1), (x, y + w * 1.2), (x + w, y - w * 0.1)], FINE)
        figure.stroke([cap.seen(last * s, a) for s in (0.97, 0.88, 0.76, 0.62)], 0.3, head=0.15)


def _scraps(figure: Figure, cap: Cap, random: Random) -> None:
    last = len(cap.profile) - 1
    for k in range(6):
        x, y = cap.seen(last, -math.pi / 2 * (k + random.uniform(0.25, 0.75)) / 6)
        w = 0.05 * cap.radius
        figure.shape([(x - w, y), (x - w * 0.3, y - w * 1.1), (x + w * 0.2, y - w * 0.7), (x + w * 0.9, y)], FINE)


def _splits(figure: Figure, cap: Cap, random: Random) -> None:
    last = len(cap.profile) - 1
    for k in range(4):
        a = -math.pi / 2 * (k + random.uniform(0.3, 0.7)) / 4
        x, y = cap.seen(last, a)
        w = 0.035 * cap.radius
        tip = cap.seen(last * random.uniform(0.78, 0.86), a)
        figure.shape([(x - w, y), tip, (x + w, y)], OUTLINE * 0.8)


def _fringe(figure: Figure, cap: Cap, random: Random) -> None:
    last = len(cap.profile) - 1
    for k in range(26):
        x, y = cap.seen(last, -math.pi / 2 * (k + 0.5) / 26)
        r = 0.06 * cap.radius * random.uniform(0.6, 1.2)
        figure.stroke([(x, y), (x - r * 0.2, y - r * 0.6), (x - r * 0.5, y - r)], 0.24)


def _rolled(figure: Figure, cap: Cap, random: Random) -> None:
    last = len(cap.profile) - 3
    figure.line([cap.seen(last * 0.965, a) for a in steps(12, -math.pi / 2 * 0.9, 0)], HAIR)


EDGES: dict[str, Callable[[Figure, Cap, Random], None]] = {
    "lined": _lined, "grooved": _grooved, "veil_scraps": _scraps, "splitting": _splits, "shaggy": _fringe,
    "inrolled": _rolled,
}  # fmt: skip
