"""Balls and closed eggs: the left half as found, the right half cut through, where the kind shows."""

import math
from collections.abc import Callable
from random import Random

from curriculum.compute.drawing.cap import Cap, half_as_found, silhouette
from curriculum.compute.drawing.curves import Point, between, blob, inside, moved, sampled, splined, steps
from curriculum.compute.drawing.ground import WOOD, draw_ground
from curriculum.compute.drawing.pen import FINE, HAIR, OUTLINE, Figure, Size
from curriculum.compute.drawing.specimen import Specimen
from curriculum.compute.drawing.surface import draw_surface

BUTTON: tuple[Point, ...] = (
    (0, 0.62), (0.3, 0.55), (0.52, 0.36), (0.6, 0.12), (0.5, 0.06), (0.3, 0.14), (0.2, 0.1), (0.2, -0.4),
    (0.3, -0.66), (0, -0.74),
)  # fmt: skip


def ball(specimen: Specimen) -> Figure:
    """A ball, or a closed egg where the form says so, to scale."""
    width = specimen.size("cap_width")
    figure = Figure(specimen.taxon, measured=width is not None)
    radius, egg = (width or 60.0) / 2, specimen.state("form") == "egg"
    body = _body(radius, egg, specimen.state("cap_shape") == "lobed")
    substrate = specimen.state("substrate")
    draw_ground(figure, substrate, 1.35 * radius, 0.8 * radius, 0.0 if substrate in WOOD else 0.12 * radius)
    outline = [*silhouette(body), *reversed(_under(body))]
    figure.area(outline)
    _cut(figure, body, specimen)
    left = half_as_found(figure, body)
    draw_surface(figure, body, specimen.state("cap_surface"), left)
    figure.line([*silhouette(body), *_under(body)], sizes=[Size("cap_width", radius * 2)] if width else [])
    _roots(figure, radius)
    figure.anchor("cap_surface", body.seen(len(body.profile) * 0.35, -0.8))
    figure.anchor("cap_width", body.seen(len(body.profile) * 0.4, -1.5))
    figure.anchor("cut_section", (radius * 0.45, body.level * 0.9))
    figure.anchor("skin", body.seen(len(body.profile) * 0.42, 1.57))
    return figure


def _body(radius: float, egg: bool, lobed: bool) -> Cap:
    tall = 1.22 if egg else 0.94
    round_ = [(math.sin(a), math.cos(a)) for a in steps(26, 0, math.pi * 0.93)]
    bent = [(x * (1 + (0.05 * math.sin(7 * y + 1) if lobed else 0.0)), y) for x, y in round_]
    widest = max(x for x, _ in bent)
    profile = tuple((x * radius / widest, y * radius * tall) for x, y in bent)
    return Cap(radius, profile, -profile[-1][1], False, 0.0, 1)


def _under(body: Cap) -> list[Point]:
    """The foot, from the right end of the profile to the left one."""
    x, y = body.profile[-1]
    half_turn = [(x * math.cos(a), body.level + y - 0.3 * x * math.sin(a)) for a in steps(6, 0, math.pi)]
    return half_turn[1:]


def _roots(figure: Figure, radius: float) -> None:
    random = figure.random("roots")
    for k in range(5):
        x = radius * (-0.16 + 0.08 * k)
        figure.stroke(
            [
                (x, 0),
                (x + radius * random.uniform(-0.06, 0.06), -0.09 * radius),
                (x + radius * random.uniform(-0.12, 0.12), -0.17 * radius),
            ],
            0.3,
            head=0.1,
        )


def _cut(figure: Figure, body: Cap, specimen: Specimen) -> None:
    right = [(x, body.level + y) for x, y in body.profile]
    centre = (0.0, body.level)
    rind = {"thick_rind": 0.1, "thin": 0.035}.get(specimen.state("skin"), 0.0)
    inner = [between(p, centre, rind) for p in right]
    draw = INSIDES.get(specimen.state("cut_section"))
    if draw:
        draw(figure, figure.random("inside"), [*inner, (0, inner[-1][1])], body)
    if rind:
        figure.line(inner, FINE if rind > 0.05 else HAIR)


def _even(figure: Figure, random: Random, room: list[Point], body: Cap) -> None:
    for _ in range(60):
        at = (random.uniform(0.04, 1) * body.radius, random.uniform(0, 2) * body.level)
        figure.dot(at, 0.16, within=room)


def _spongy_base(figure: Figure, random: Random, room: list[Point], body: Cap) -> None:
    """Even above; below a line a base of small chambers."""
    _even(figure, random, room, body)
    line = [
        (x, 0.62 * body.level + 0.04 * body.level * math.sin(5 * x / body.radius)) for x in steps(10, 0, body.radius)
    ]
    figure.line([p for p in line if inside(p, room) or p[0] == 0], HAIR)
    for r in range(4):
        for c in range(7):
            cell = blob(
                random,
                (body.radius * (0.06 + 0.12 * c), body.level * (0.16 + 0.12 * r)),
                0.045 * body.radius,
                0.04 * body.level,
                0.2,
            )
            if all(inside(p, room) for p in cell):
                figure.shape(cell, HAIR, "wash")


def _powder(figure: Figure, random: Random, room: list[Point], body: Cap) -> None:
    figure.area(room, "wash")
    for _ in range(420):
        at = (random.uniform(0.02, 1) * body.radius, random.uniform(0, 2) * body.level)
        figure.dot(at, random.uniform(0.18, 0.34), within=room)


def _marbled(figure: Figure, random: Random, room: list[Point], body: Cap) -> None:
    """Dark flesh broken by pale veins: a net of irregular meshes, each filled with close strokes."""
    figure.area(room, "wash")
    size = 0.15 * body.radius
    for r in range(-7, 8):
        for c in range(7):
            x, y = size * (c + 0.45 + 0.5 * (r % 2)), body.level + r * size * 0.88
            at = (x + random.uniform(-0.16, 0.16) * size, y + random.uniform(-0.16, 0.16) * size)
            mesh = blob(random, at, size * random.uniform(0.36, 0.54), size * random.uniform(0.34, 0.5), 0.24, 9)
            if all(inside(p, room) for p in mesh):
                figure.cell(mesh, HAIR, "ink")


def _button(figure: Figure, random: Random, room: list[Point], body: Cap) -> None:
    """The outline of a cap and stem inside, and the skins that wrap it."""
    shape = [(x * body.radius, body.level + y * body.level) for x, y in BUTTON]
    figure.line([between(p, (0.0, body.level), 0.09) for p in room[:-1]], FINE)
    figure.line(splined(shape, 3), OUTLINE * 0.8)
    for k in range(7):
        x = body.radius * (0.24 + 0.045 * k)
        figure.stroke(
            [
                (x, body.level * 1.13),
                (x + 0.01 * body.radius, body.level * (1.22 + 0.03 * k)),
                (x, body.level * (1.3 + 0.025 * k)),
            ],
            0.17,
        )


def _hollow(figure: Figure, random: Random, room: list[Point], body: Cap) -> None:
    figure.shape([between(p, (0.0, body.level), 0.16) for p in room], FINE, "wash")


def _chambers(figure: Figure, random: Random, room: list[Point], body: Cap) -> None:
    for r in range(5):
        for c in range(3):
            at = ((0.2 + 0.27 * c) * body.radius, body.level * (0.36 + 0.32 * r))
            cell = moved(
                sampled(lambda t: (math.cos(6.283 * t), 0.7 * math.sin(6.283 * t)), 8)[:-1],
                *at,
                scale=0.11 * body.radius * random.uniform(0.8, 1.2),
            )
            if all(inside(p, room) for p in cell):
                figure.shape(cell, FINE, "wash")


def _layers(figure: Figure, random: Random, room: list[Point], body: Cap) -> None:
    for share in (0.2, 0.36, 0.52, 0.68):
        figure.line([between(p, (0.0, body.level), share) for p in room[:-1]], FINE)


INSIDES: dict[str, Callable[[Figure, Random, list[Point], Cap], None]] = {
    "even": _even, "even_spongy_base": _spongy_base, "dark_powder": _powder, "marbled": _marbled,
    "button_outline": _button, "cap_and_stem": _button, "hollow": _hollow, "chambers": _chambers, "layers": _layers,
}  # fmt: skip
