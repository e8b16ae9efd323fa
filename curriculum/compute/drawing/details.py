"""Small views beside a fungus, none to scale: a cap from beneath, gills cut across, how it stands together."""

import math
from collections.abc import Callable
from random import Random

from curriculum.compute.drawing.curves import Point, along, between, blob, ellipse, moved, splined, steps
from curriculum.compute.drawing.ground import WOOD
from curriculum.compute.drawing.pen import FINE, HAIR, OUTLINE, Figure
from curriculum.compute.drawing.specimen import Specimen
from curriculum.compute.drawing.united import edge_of

LINES = {"crowded": 104, "close": 84, "medium": 60, "distant": 36}
EDGES = {"wavy": (0.03, 7), "lobed": (0.06, 5), "splitting": (0.02, 9), "grooved": (0.02, 30)}


def cap_from_beneath(specimen: Specimen) -> Figure | None:
    """The underside as a disc: spacing and forking of gills, or pores, or spines; None where nobody recorded it."""
    kind = specimen.state("underside")
    if kind not in ("gills", "folds", "pores", "spines"):
        return None
    figure = Figure(specimen.taxon, title=_under_title(specimen, kind), measured=False)
    edge = _edge(edge_of(specimen))
    figure.area(edge)
    stem = 0.16 if specimen.state("stem") != "absent" else 0.0
    if kind in ("gills", "folds"):
        _radiating(figure, specimen, edge, stem, kind)
    else:
        _dotted(figure, specimen, stem, kind)
    figure.line([*edge, edge[0]], OUTLINE)
    if stem:
        _cut_stem(figure, specimen, stem)
    figure.anchor("gill_spacing", (0.62, 0.36))
    figure.anchor("gill_forking", (0.66, -0.3))
    figure.anchor("pores", (0.6, 0.3))
    return figure


def _under_title(specimen: Specimen, kind: str) -> str:
    spacing = specimen.state("gill_spacing") if kind in ("gills", "folds") else ""
    told = [specimen.label("underside", kind)]
    if spacing:
        told.append(specimen.label("gill_spacing", spacing))
    return f"from beneath: {', '.join(told)}"


def _edge(margin: str) -> list[Point]:
    rough, waves = EDGES.get(margin, (0.0, 1))
    turns = steps(72, 0, 2 * math.pi)[:-1]
    return [
        ((1 + rough * math.sin(waves * a)) * math.cos(a), (1 + rough * math.sin(waves * a)) * math.sin(a))
        for a in turns
    ]


def _radiating(figure: Figure, specimen: Specimen, edge: list[Point], stem: float, kind: str) -> None:
    random = figure.random("beneath")
    count = LINES.get(specimen.state("gill_spacing"), 60)
    fork, hub = specimen.state("gill_forking"), _hub(specimen)
    splits = fork in ("forked", "cross_veined")
    start = stem + (0.09 if specimen.state("gill_attachment") == "free" else 0.005)
    weight = 0.36 if kind == "folds" else 0.2
    for k in range(count):
        rim = along([*edge, edge[0]], (k + random.uniform(-0.15, 0.15)) / count)
        reach = math.dist(hub, rim)
        first = max(start / reach, ((0.0, 0.5)[k % 2] if splits else (0.0, 0.62, 0.4, 0.62)[k % 4]))
        figure.stroke([between(hub, rim, s) for s in steps(4, first, 0.985)], weight, head=0.3)
        beside = along([*edge, edge[0]], (k + 1) / count)
        if splits and k % 2 == 0:
            branch = [between(hub, between(rim, beside, 0.84 * (s - 0.48)), s) for s in steps(4, 0.48, 0.98)]
            figure.stroke(branch, weight * 0.9, head=0.3)
        if fork == "cross_veined" and k % 3 == 0:
            s = random.uniform(0.45, 0.9)
            vein = [between(hub, between(rim, beside, share), s + 0.04 * share * (1 - share)) for share in steps(3)]
            figure.stroke(vein, weight * 0.8)


def _hub(specimen: Specimen) -> Point:
    """Where the stem stands under the cap."""
    return {"off_centre": (0.34, 0.0), "side": (0.8, 0.0)}.get(specimen.state("stem_position"), (0.0, 0.0))


def _polar(r: float, a: float) -> Point:
    return r * math.cos(a), r * math.sin(a)


def _dotted(figure: Figure, specimen: Specimen, stem: float, kind: str) -> None:
    random, pores = figure.random("beneath"), specimen.state("pores")
    gap = {"large_angular": 0.125, "maze": 0.115}.get(pores, 0.08 if kind == "pores" else 0.1)
    for row in range(int((1 - stem) / gap)):
        r = 0.95 - row * gap
        count = max(6, round(2 * math.pi * r / gap))
        for k in range(count):
            a = 2 * math.pi * (k + 0.5 * (row % 2)) / count + random.uniform(-0.1, 0.1) / count
            if r > stem + gap * 0.5:
                _mouth(figure, random, _polar(r, a), a, gap, kind, pores)


def _mouth(figure: Figure, random: Random, at: Point, a: float, gap: float, kind: str, pores: str) -> None:
    if kind == "spines":
        tip = (at[0] - gap * 0.75 * math.cos(a), at[1] - gap * 0.75 * math.sin(a))
        figure.stroke([at, ((at[0] + tip[0]) / 2, (at[1] + tip[1]) / 2), tip], 0.5, head=0.1)
    elif pores == "large_angular":
        figure.cell(blob(random, at, gap * 0.4, gap * 0.4, 0.2, 5))
    elif pores == "separate_tubes":
        figure.cell(ellipse(at, gap * 0.3, gap * 0.3, whole=8))
    elif pores == "maze":
        turn = random.uniform(0, math.pi)
        wave = [(gap * (s - 0.5), gap * 0.2 * math.sin(6 * s)) for s in steps(6)]
        figure.stroke(moved(wave, *at, turn=turn), 0.32)
    else:
        figure.dot(at, 0.3)


def _cut_stem(figure: Figure, specimen: Specimen, stem: float) -> None:
    hub = _hub(specimen)
    figure.shape(ellipse(hub, stem, stem), OUTLINE * 0.85)
    inside = specimen.state("stem_inside")
    if inside in ("hollow", "chambered"):
        figure.shape(ellipse(hub, stem * 0.5, stem * 0.5), FINE, "wash")
    elif inside == "stuffed":
        figure.line([*ellipse(hub, stem * 0.45, stem * 0.45), (hub[0] + stem * 0.45, 0)], FINE, dotted=True)
    if specimen.state("gill_attachment") == "free":
        figure.line([*ellipse(hub, stem + 0.08, stem + 0.08), (hub[0] + stem + 0.08, 0)], HAIR)


def gills_across(specimen: Specimen) -> Figure | None:
    """Gills or folds cut across: the form of their edge; None where nobody recorded it."""
    edge, kind = specimen.state("gill_edge"), specimen.state("underside")
    if not edge or kind not in ("gills", "folds"):
        return None
    figure = Figure(specimen.taxon, title=f"cut across: edge {specimen.label('gill_edge', edge)}", measured=False)
    count = {"crowded": 9, "close": 7, "medium": 6, "distant": 4}.get(specimen.state("gill_spacing"), 6)
    gap = 2.0 / count
    ends = [_ridge(edge, kind, -1 + gap * (k + 0.5), gap) for k in range(count)]
    below = [point for end in ends for point in end]
    outline = [(-1, 0.36), (1, 0.36), (1.0, 0), *reversed(below), (-1, 0)]
    figure.area(outline)
    figure.line([(-1, 0), *below, (1, 0)], OUTLINE * 0.85)
    figure.line([(-1, 0.36), (0, 0.37), (1, 0.36)], OUTLINE)
    random = figure.random("flesh")
    for _ in range(16):
        figure.dot((random.uniform(-0.95, 0.95), random.uniform(0.06, 0.3)), 0.17, hatch=True)
    figure.anchor("gill_edge", min(ends[-1], key=lambda p: p[1]))
    if edge == "jelly_thread":
        for end in ends:
            figure.dot(min(end, key=lambda p: p[1]), 0.6)
    return figure


def _ridge(edge: str, kind: str, x: float, gap: float) -> list[Point]:
    """One gill cut across, from left to right."""
    deep = 0.62 if kind == "gills" else 0.3
    if edge == "blunt":
        w = min(0.3 * gap, 0.13)
        shape = [
            (-w * 1.5, 0.0),
            (-w, -deep * 0.5),
            (-w * 0.75, -deep * 0.9),
            (0.0, -deep),
            (w * 0.75, -deep * 0.9),
            (w, -deep * 0.5),
            (w * 1.5, 0.0),
        ]
    else:
        w = min(0.22 * gap, 0.07)
        shape = [(-w * 1.4, 0.0), (-w * 0.6, -deep * 0.4), (0.0, -deep), (w * 0.6, -deep * 0.4), (w * 1.4, 0.0)]
    return [(x + dx, dy) for dx, dy in shape]


def standing(specimen: Specimen) -> Figure | None:
    """How it stands together and on what, in small; None where nobody recorded it."""
    growth, substrate = specimen.state("growth"), specimen.state("substrate")
    draw = STANDS.get(growth)
    if not draw or not substrate:
        return None
    figure = Figure(specimen.taxon, title=_standing_title(specimen, growth, substrate), measured=False)
    form = specimen.state("form")
    shelves = form in ("fan", "bracket") or (form in ("cup", "ear") and "ear" in specimen.states("cap_shape"))
    draw = _tiers if shelves and substrate in WOOD else draw
    draw(figure, figure.random("standing"), form, substrate in WOOD)
    return figure


def _standing_title(specimen: Specimen, growth: str, substrate: str) -> str:
    return f"{specimen.label('growth', growth).split(',')[0]}, on {specimen.label('substrate', substrate)}"


def _tuft(figure: Figure, random: Random, form: str, wood: bool) -> None:
    _floor(figure, random, wood)
    for x, lean, size in ((0.5, -0.6, 0.6), (-0.5, 0.6, 0.55), (0.26, -0.3, 0.8), (-0.27, 0.32, 0.78), (0.0, 0.0, 1.0)):
        _little(figure, random, form, (x * 0.25, 0.0), size * 0.85, lean)


def _troop(figure: Figure, random: Random, form: str, wood: bool) -> None:
    _floor(figure, random, wood)
    for x, size in ((-0.8, 0.5), (0.72, 0.42), (0.3, 0.62), (-0.35, 0.7)):
        _little(figure, random, form, (x, -0.03 * size), size * 0.85, random.uniform(-0.1, 0.1))


def _single(figure: Figure, random: Random, form: str, wood: bool) -> None:
    _floor(figure, random, wood)
    _little(figure, random, form, (0.0, -0.02), 0.8, 0.05)


def _ring(figure: Figure, random: Random, form: str, wood: bool) -> None:
    for k in range(14):
        a = math.pi / 2 + 2 * math.pi * (k + 0.5) / 14 * (1 if k % 2 else -1) * 0.5
        x, y = 0.95 * math.cos(a), 0.3 * math.sin(a)
        _little(figure, random, form, (x, y), 0.34 - 0.24 * y * 0.5, random.uniform(-0.1, 0.1))
    for _ in range(20):
        x, y = random.uniform(-1.1, 1.1), random.uniform(-0.4, 0.36)
        figure.stroke([(x, y), (x + 0.01, y + 0.04), (x + 0.03, y + 0.08)], 0.2)


def _tiers(figure: Figure, random: Random, form: str, wood: bool) -> None:
    figure.area([(-0.42, -0.75), (0, -0.75), (0.02, 0), (-0.02, 0.75), (-0.42, 0.75)], "wash")
    figure.line([(0, -0.75), (0.02, -0.2), (-0.01, 0.3), (0, 0.75)], OUTLINE * 0.8)
    for _ in range(12):
        x, y = -random.uniform(0.08, 0.38), random.uniform(-0.7, 0.7)
        figure.stroke([(x - 0.05, y), (x, y + 0.01), (x + 0.05, y)], 0.25)
    for y, reach in ((-0.45, 0.62), (-0.12, 0.72), (0.2, 0.6), (0.48, 0.45)):
        shelf = [
            (0, y + 0.1),
            (reach * 0.4, y + 0.14),
            (reach * 0.9, y + 0.02),
            (reach, y - 0.06),
            (reach * 0.7, y - 0.11),
            (reach * 0.3, y - 0.1),
            (0, y - 0.08),
        ]
        figure.shape(shelf, OUTLINE * 0.8)
        figure.line([(0.04, y - 0.02), (reach * 0.5, y + 0.01), (reach * 0.94, y - 0.06)], HAIR)


def _floor(figure: Figure, random: Random, wood: bool) -> None:
    if wood:
        figure.shape(
            [(-1.1, 0.02), (0, 0.0), (1.1, 0.02), (1.14, -0.16), (1.06, -0.34), (-1.06, -0.34), (-1.14, -0.14)],
            OUTLINE * 0.8,
            "wash",
        )
        for _ in range(12):
            x, y = random.uniform(-0.95, 0.85), random.uniform(-0.29, -0.06)
            figure.stroke([(x, y), (x + 0.08, y + 0.01), (x + 0.16, y)], 0.22)
        return
    figure.stroke([(-1.1, -0.02), (-0.3, -0.05), (0.4, -0.04), (1.1, -0.02)], 0.26)
    for _ in range(11):
        x = random.uniform(-1.0, 1.0)
        figure.stroke([(x, -0.03), (x + 0.01, 0.03), (x + random.uniform(-0.03, 0.03), 0.09)], 0.22)


def _little(figure: Figure, random: Random, form: str, at: Point, size: float, lean: float) -> None:
    """A small one of its kind: a ball, a cup, or a cap on a stem."""
    plain = LITTLE.get(form)
    if plain:
        upright = form in ("ball", "egg", "rosette")
        figure.shape(moved(plain, *at, scale=size, turn=0.0 if upright else lean), OUTLINE * 0.75)
        return
    top = (-lean * 0.6 * size, 0.72 * size)
    stem = splined([(0, 0), (-lean * 0.22 * size, 0.4 * size), top], 3)
    w = 0.055 * size
    figure.area(
        [*[(at[0] + x - w, at[1] + y) for x, y in stem], *[(at[0] + x + w, at[1] + y) for x, y in reversed(stem)]]
    )
    for side in (-w, w):
        figure.line([(at[0] + x + side, at[1] + y) for x, y in stem], FINE * 1.3)
    cap = [(-0.42, 0.0), (-0.3, 0.16), (0, 0.27), (0.3, 0.16), (0.42, 0), (0.2, -0.05), (-0.2, -0.05)]
    figure.shape(moved(cap, at[0] + top[0], at[1] + top[1], scale=size, turn=lean * 0.5), OUTLINE * 0.75)


# Outlines of those that have no cap on a stem.
_BALL = ellipse((0, 0.42), 0.45, 0.42)
_CUP: list[Point] = [(-0.12, 0), (-0.3, 0.3), (-0.45, 0.6), (0, 0.5), (0.45, 0.6), (0.3, 0.3), (0.12, 0)]
_MOUND: list[Point] = [
    (-0.2, 0), (-0.62, 0.1), (-0.7, 0.36), (-0.5, 0.42), (-0.46, 0.66), (-0.2, 0.64), (0, 0.82), (0.22, 0.64),
    (0.46, 0.68), (0.5, 0.42), (0.72, 0.34), (0.6, 0.1), (0.2, 0),
]  # fmt: skip
_HEAD: list[Point] = [
    (-0.12, 0), (-0.12, 0.34), (-0.3, 0.4), (-0.3, 0.66), (0, 1.0), (0.3, 0.66), (0.3, 0.4), (0.12, 0.34), (0.12, 0),
]  # fmt: skip
_CLUB: list[Point] = [(-0.06, 0), (-0.1, 0.5), (-0.14, 0.8), (0, 0.95), (0.14, 0.8), (0.1, 0.5), (0.06, 0)]
LITTLE: dict[str, list[Point]] = {
    "ball": _BALL, "egg": _BALL, "cup": _CUP, "ear": _CUP, "trumpet": _CUP, "rosette": _MOUND, "branched": _MOUND,
    "beard": _MOUND, "honeycomb": _HEAD, "brain": _HEAD, "club": _CLUB,
}  # fmt: skip

STANDS: dict[str, Callable[[Figure, Random, str, bool], None]] = {
    "tuft": _tuft, "tiered": _tiers, "ring": _ring, "troop": _troop, "scattered": _troop, "single": _single,
}  # fmt: skip
