"""Cups, ears and trumpets: thin sheets that are seen into, the right half or a second view cut."""

import math

from curriculum.compute.drawing.curves import Point, along, between, kept_within, mirrored, splined, steps
from curriculum.compute.drawing.ground import WOOD, draw_ground, draw_trunk
from curriculum.compute.drawing.pen import FINE, OUTLINE, Figure, Size
from curriculum.compute.drawing.specimen import Specimen

TILT = 0.2
BOWL: tuple[Point, ...] = ((0, 0), (0.16, 0.01), (0.42, 0.12), (0.7, 0.34), (0.9, 0.6), (1, 0.84))
# From the foot: the stalk of a trumpet widens late, then flares.
TRUMPET: tuple[Point, ...] = (
    (0.0, 0),
    (0.1, 0.02),
    (0.15, 0.16),
    (0.21, 0.4),
    (0.33, 0.64),
    (0.58, 0.86),
    (0.86, 0.98),
    (1, 0.97),
)
EAR: tuple[Point, ...] = (
    (0, 0.1), (0.08, 0.3), (0.26, 0.46), (0.54, 0.5), (0.82, 0.4), (0.98, 0.14), (0.94, -0.14), (0.78, -0.3),
    (0.62, -0.46), (0.4, -0.5), (0.2, -0.36), (0.08, -0.16), (0, -0.08),
)  # fmt: skip


def cup(specimen: Specimen) -> Figure:
    """A cup seen from a little above, its right half cut; a trumpet likewise, with its height from the stem."""
    width = specimen.size("cap_width")
    form = specimen.state("form")
    radius = (width or 60.0) / 2
    length = specimen.size("stem_length") if form == "trumpet" else None
    figure = Figure(specimen.taxon, measured=width is not None)
    height = (length or 2.6 * radius) if form == "trumpet" else 0.84 * radius / 0.84
    profile = TRUMPET if form == "trumpet" else BOWL
    wall = splined([(x * radius, y * height) for x, y in profile], 4)
    wall = [(x * radius / max(p[0] for p in wall), y) for x, y in wall]
    substrate = specimen.state("substrate")
    draw_ground(figure, substrate, 1.1 * radius, 0.3 * radius, 0.0 if substrate in WOOD else 0.03 * height)
    _bowl(figure, specimen, wall, form, [Size("cap_width", 2 * radius)] if width else [])
    return figure


def _bowl(figure: Figure, specimen: Specimen, wall: list[Point], form: str, sizes: list[Size]) -> None:
    radius, rim = wall[-1][0], wall[-1][1]
    wave = {"wavy": 0.05, "lobed": 0.09, "splitting": 0.06}.get(specimen.state("cap_margin"), 0.015)
    far = [_rim(radius, rim, wave, a, 1) for a in steps(24, -math.pi / 2, math.pi / 2)]
    near = [_rim(radius, rim, wave, a, -1) for a in steps(16, -math.pi / 2, 0)]
    thick = 0.045 * radius if form == "trumpet" else 0.07 * radius
    inner = _inner(wall, thick, form)
    figure.area([*far, *reversed(inner), (0, inner[0][1]), *reversed(near)], "wash")
    _depth(figure, far, inner)
    figure.area([*wall, *reversed(inner)])
    left = [*mirrored(wall), *near[1:], (0, 0)]
    figure.area(left)
    _skin(figure, wall, left, form, specimen)
    figure.line(far, OUTLINE * 0.9)
    figure.line(inner, FINE * 1.4)
    figure.line(near, OUTLINE)
    figure.line([near[-1], (0, 0)], FINE)
    figure.line([*reversed(mirrored(wall)), *wall[1:]], sizes=sizes)
    specimen.state("cut_section")
    specimen.state("cap_shape")
    _anchors(figure, wall, inner, far)


def _rim(radius: float, rim: float, wave: float, azimuth: float, side: int) -> Point:
    up = wave * radius * math.sin(5 * azimuth + side) * math.cos(azimuth)
    return radius * math.sin(azimuth), rim + side * TILT * radius * math.cos(azimuth) + up


def _inner(wall: list[Point], thick: float, form: str) -> list[Point]:
    """The inner face of the cut wall, from the bottom of the hollow to the rim."""
    floor = (0.08 if form == "trumpet" else 0.09) * wall[-1][1]
    kept = [
        (max(0.0, x - thick * (1 - 0.7 * i / len(wall))), y + thick * 0.6 * (1 - i / len(wall)))
        for i, (x, y) in enumerate(wall)
    ]
    return [(0.0, floor), *[p for p in kept if p[1] > floor * 1.15 and p[0] > 0], wall[-1]]


def _depth(figure: Figure, far: list[Point], inner: list[Point]) -> None:
    random = figure.random("depth")
    room = [*far, *reversed(inner)]
    for k in range(1, 26):
        x, y = along(far, k / 26)
        reach = random.uniform(0.25, 0.6)
        low = inner[0][1]
        figure.hatch(
            [(x * (1 - s * 0.55), y - (y - low) * s) for s in steps(6, 0.02, reach * 0.75)],
            0.18,
            head=0.15,
            within=room,
        )


def _skin(figure: Figure, wall: list[Point], left: list[Point], form: str, specimen: Specimen) -> None:
    random = figure.random("skin")
    folds = specimen.state("underside") == "folds"
    for k in range(22):
        a = -math.pi / 2 * (1 - (k / 22) ** 1.25)
        low = random.uniform(0.08, 0.3) if folds or form == "trumpet" else random.uniform(0.4, 0.62)
        line = [_turned(along(wall, s), a, wall[-1]) for s in steps(9, low, random.uniform(0.85, 0.98))]
        figure.hatch(line, 0.3 * (1 - 0.6 * k / 22), head=0.5, within=left)
    if folds:
        for k in range(9):
            line = [_turned(along(wall, s), -math.pi / 2 * (k + 0.5) / 9, wall[-1]) for s in steps(9, 0.3, 0.98)]
            figure.stroke(line, 0.4, head=0.6, within=left)
    _scurf(figure, wall, left, specimen.state("cap_surface"))


def _scurf(figure: Figure, wall: list[Point], left: list[Point], surface: str) -> None:
    random = figure.random(f"surface/{surface}")
    if surface in ("powdery", "scaly", "velvety", "downy"):
        for _ in range(110):
            at = _turned(along(wall, random.uniform(0.25, 0.98)), -math.pi / 2 * random.random(), wall[-1])
            if surface == "powdery":
                figure.dot(at, random.uniform(0.18, 0.3), within=left)
            elif kept_within([at], left):
                figure.stroke(
                    [at, (at[0] + 0.2, at[1] + 0.012 * wall[-1][1]), (at[0], at[1] + 0.025 * wall[-1][1])], 0.17
                )


def _turned(point: Point, azimuth: float, rim: Point) -> Point:
    """A point of the outer wall turned about the axis, sinking as the near rim does."""
    x, y = point
    return x * math.sin(azimuth), y - TILT * x * math.cos(azimuth) * (y / rim[1]) ** 2


def _anchors(figure: Figure, wall: list[Point], inner: list[Point], far: list[Point]) -> None:
    figure.anchor("cap_shape", (-along(wall, 0.75)[0], along(wall, 0.75)[1]))
    figure.anchor("cap_surface", (-along(wall, 0.6)[0] * 0.6, along(wall, 0.6)[1]))
    figure.anchor("underside", (-along(wall, 0.5)[0] * 0.7, along(wall, 0.5)[1]))
    figure.anchor("cap_margin", far[6])
    figure.anchor("cut_section", between(along(inner, 0.5), along(wall, 0.55), 0.5))
    figure.anchor("form", far[15])


def ear(specimen: Specimen) -> Figure:
    """An ear: from inside, where the folds show, and below it cut; on wood, or on the ground."""
    width = specimen.size("cap_width")
    span = width or 60.0
    substrate = specimen.state("substrate")
    figure = Figure(specimen.taxon, measured=width is not None)
    if substrate in WOOD or not substrate:
        draw_trunk(figure, substrate, 0.36 * span, -1.02 * span, 0.6 * span)
        _ear_face(figure, specimen, span, [Size("cap_width", span, "height")] if width else [])
        _ear_cut(figure, specimen, span)
    else:
        draw_ground(figure, substrate, 0.75 * span, 0.16 * span, 0.02 * span)
        _standing_ear(figure, specimen, span, [Size("cap_width", span)] if width else [])
    return figure


def _ear_face(figure: Figure, specimen: Specimen, span: float, sizes: list[Size]) -> None:
    outline = [(x * span * 0.9, y * span) for x, y in EAR]
    for character in ("cap_shape", "cap_margin", "underside"):
        specimen.state(character)
    figure.shape(outline, OUTLINE * 1.1, sizes=sizes)
    _folds_of_ear(figure, splined([*outline, outline[0]], 4), (0.0, 0.0), (0.9 * span, 0.0), span)
    _fur(figure, splined(outline, 4), specimen.state("cap_surface"), span)
    figure.anchor("cap_shape", (0.52 * span, 0.5 * span))
    figure.anchor("cap_margin", (0.88 * span, 0.0))
    figure.anchor("underside", (0.5 * span, -0.1 * span))
    figure.anchor("cap_surface", (0.34 * span, -0.5 * span))


def _folds_of_ear(figure: Figure, room: list[Point], root: Point, tip: Point, span: float) -> None:
    """The inner lip, and veins that branch from the point of attachment."""
    random = figure.random("folds")
    centre = between(root, tip, 0.56)
    figure.line([between(along(room, t), centre, 0.13 + 0.05 * math.sin(19 * t)) for t in steps(30, 0.1, 0.86)], FINE)
    for k in range(7):
        end = between(along(room, 0.14 + 0.68 * k / 6), centre, 0.26)
        bend = between(root, end, 0.5)
        bend = (bend[0] + random.uniform(-0.05, 0.05) * span, bend[1] + random.uniform(-0.05, 0.05) * span)
        figure.stroke(splined([between(root, end, 0.1), bend, end], 4), 0.34, head=0.15, within=room)
        figure.stroke(
            splined([bend, between(bend, end, 0.5), between(end, along(room, 0.2 + 0.62 * k / 6), 0.3)], 3),
            0.22,
            within=room,
        )
    for k in range(24):
        p = along(room, 0.08 + 0.8 * k / 23)
        figure.hatch([between(p, centre, s) for s in (0.02, 0.06, 0.11)], 0.2, head=0.2)


def _fur(figure: Figure, outline: list[Point], surface: str, span: float) -> None:
    if surface in ("velvety", "downy", "shaggy"):
        for t in steps(70, 0.04, 0.96):
            x, y = along(outline, t)
            out = math.hypot(x - 0.45 * span, y) or 1.0
            r = 0.02 * span
            figure.stroke([(x, y), (x + (x - 0.45 * span) / out * r, y + y / out * r)], 0.15)


def _ear_cut(figure: Figure, specimen: Specimen, span: float) -> None:
    """The sheet cut through: two lines close together, curled like the ear."""
    y = -0.8 * span
    outer = splined(
        [
            (0, y + 0.08 * span),
            (0.2 * span, y + 0.2 * span),
            (0.55 * span, y + 0.17 * span),
            (0.8 * span, y - 0.02 * span),
            (0.82 * span, y - 0.16 * span),
        ],
        5,
    )
    inner = splined(
        [
            (0, y - 0.02 * span),
            (0.2 * span, y + 0.11 * span),
            (0.53 * span, y + 0.09 * span),
            (0.74 * span, y - 0.06 * span),
            (0.82 * span, y - 0.16 * span),
        ],
        5,
    )
    figure.area([*outer, *reversed(inner)])
    figure.line(outer)
    figure.line(inner, OUTLINE * 0.8)
    random = figure.random("sheet")
    for _ in range(20):
        t = random.uniform(0.05, 0.85)
        figure.dot(between(along(outer, t), along(inner, t), random.uniform(0.3, 0.7)), 0.16, hatch=True)
    specimen.state("cut_section")
    figure.anchor("cut_section", between(along(outer, 0.5), along(inner, 0.5), 0.5))


def _standing_ear(figure: Figure, specimen: Specimen, span: float, sizes: list[Size]) -> None:
    """A tall ear, slit down one side to the base."""
    half, tall = span / 2, 1.45 * span
    for character in ("cap_shape", "cap_margin", "underside"):
        specimen.state(character)
    outline = [
        (0.1 * half, 0),
        (0.42 * half, 0.3 * tall),
        (0.86 * half, 0.62 * tall),
        (half, 0.84 * tall),
        (0.72 * half, 0.98 * tall),
        (0.2 * half, tall),
        (-0.45 * half, 0.93 * tall),
        (-0.88 * half, 0.78 * tall),
        (-half, 0.6 * tall),
        (-0.6 * half, 0.3 * tall),
        (-0.12 * half, 0),
    ]
    figure.shape(outline, sizes=sizes)
    slit = splined(
        [
            (-0.45 * half, 0.93 * tall),
            (0.05 * half, 0.72 * tall),
            (0.12 * half, 0.4 * tall),
            (0.02 * half, 0.06 * tall),
        ],
        5,
    )
    lip = splined(
        [(half * 0.86, 0.9 * tall), (0.5 * half, 0.8 * tall), (0.16 * half, 0.6 * tall), (0.12 * half, 0.4 * tall)], 5
    )
    figure.area([*slit[:12], *reversed(lip[:14]), (0.72 * half, 0.98 * tall), (0.2 * half, tall)], "wash")
    figure.line(slit, OUTLINE * 0.8)
    figure.line(lip, OUTLINE * 0.8)
    room = splined([*outline, outline[0]], 4)
    for k in range(16):
        x = -0.9 + 0.11 * k
        figure.hatch(
            [(x * half * (0.25 + 0.75 * s), tall * (0.12 + 0.5 * s)) for s in steps(7, 0.1, 0.9 - 0.4 * (k % 3) / 3)],
            0.24,
            head=0.2,
            within=room,
        )
    _scurf(
        figure,
        [(0.1 * half, 0), (0.5 * half, 0.4 * tall), (0.9 * half, 0.8 * tall)],
        room,
        specimen.state("cap_surface"),
    )
    figure.anchor("cap_shape", (0.95 * half, 0.7 * tall))
    figure.anchor("cap_margin", (-0.7 * half, 0.86 * tall))
    figure.anchor("underside", (0.3 * half, 0.86 * tall))
    figure.anchor("cap_surface", (-0.5 * half, 0.4 * tall))
