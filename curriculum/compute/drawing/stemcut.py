"""The stem of a plant cut across: its form, what is inside, and the hairs that stand round it."""

import math
from collections.abc import Callable

from curriculum.compute.drawing.curves import Point, splined, steps
from curriculum.compute.drawing.pen import FINE, OUTLINE, Figure
from curriculum.compute.drawing.specimen import Specimen


def stem_across(specimen: Specimen) -> Figure | None:
    """The stem cut across: its form, what is inside, and hairs round it; None where its form is unknown."""
    section = specimen.state("stem_section")
    outline = SECTIONS.get(section)
    if not outline:
        return None
    inside = specimen.state("plant_stem_inside")
    told = [specimen.label("stem_section", section)] + ([specimen.label("plant_stem_inside", inside)] if inside else [])
    figure = Figure(specimen.taxon, f"stem across: {', '.join(told)}", measured=False, tall=13.0)
    ring = outline()
    _stem_hairs(figure, ring, stem_surface(specimen))
    figure.shape(ring, OUTLINE)
    _pith(figure, ring, inside)
    figure.anchors.update(stem_section=ring[0], plant_stem_inside=(0.0, 0.0), plant_stem_surface=ring[len(ring) // 3])
    return figure


def stem_surface(specimen: Specimen) -> str:
    """What stands on the stem: thorns and prickles before hairs and bark."""
    surface = specimen.state("plant_stem_surface")
    return "thorns" if specimen.state("stem_armour") in ("thorns", "prickles") else surface


def _round() -> list[Point]:
    return [(math.cos(a), math.sin(a)) for a in steps(32, 0, 2 * math.pi)[:-1]]


def _square() -> list[Point]:
    return splined(
        [
            (1, 0.94),
            (0.84, 0),
            (1, -0.94),
            (0.94, -1),
            (0, -0.84),
            (-0.94, -1),
            (-1, -0.94),
            (-0.84, 0),
            (-1, 0.94),
            (-0.94, 1),
            (0, 0.84),
            (0.94, 1),
            (1, 0.94),
        ],
        3,
    )[:-1]


def _ridged() -> list[Point]:
    return [
        ((1 + 0.07 * math.cos(9 * a)) * math.cos(a), (1 + 0.07 * math.cos(9 * a)) * math.sin(a))
        for a in steps(90, 0, 2 * math.pi)[:-1]
    ]


def _angled() -> list[Point]:
    return [(math.cos(a), math.sin(a)) for a in steps(5, 0.3, 0.3 + 2 * math.pi)[:-1]]


def _knobbly() -> list[Point]:
    return [
        ((1 + 0.12 * math.cos(3 * a + 1)) * math.cos(a), (1 + 0.12 * math.cos(3 * a + 1)) * math.sin(a))
        for a in steps(48, 0, 2 * math.pi)[:-1]
    ]


def _flat() -> list[Point]:
    return [(1.2 * math.cos(a), 0.55 * math.sin(a)) for a in steps(32, 0, 2 * math.pi)[:-1]]


SECTIONS: dict[str, Callable[[], list[Point]]] = {
    "round": _round, "square": _square, "ridged": _ridged, "angled": _angled, "flat": _flat, "jointed": _knobbly,
}  # fmt: skip


def _stem_hairs(figure: Figure, ring: list[Point], surface: str) -> None:
    long = {"hairy": 0.28, "stinging": 0.42, "bristly": 0.4, "downy": 0.12, "thorns": 0.5}.get(surface, 0.0)
    count = {"thorns": 5, "stinging": 16, "downy": 60}.get(surface, 28)
    for k in range(count if long else 0):
        x, y = ring[k * len(ring) // count % len(ring)]
        figure.stroke(
            [(x, y), (x * (1 + long * 0.5), y * (1 + long * 0.5)), (x * (1 + long), y * (1 + long))],
            0.5 if surface == "thorns" else 0.2,
            head=0.1,
        )


SHARES = {"hollow": 0.68, "chambered": 0.68, "woody": 0.2, "white_pith": 0.6, "yellow_pith": 0.6, "brown_pith": 0.6}
"""How much of the stem's radius the core takes."""

DOTS = {"white_pith": 0.18, "yellow_pith": 0.25, "brown_pith": 0.34}
"""The darker the pith, the heavier its dots."""


def _pith(figure: Figure, ring: list[Point], inside: str) -> None:
    share = SHARES.get(inside, 0.0)
    if not share:
        return
    core = [(x * share, y * share) for x, y in ring]
    figure.shape(core, FINE, "paper" if inside in ("white_pith",) else "wash")
    random = figure.random("pith")
    if inside in DOTS:
        for _ in range(46):
            a, r = random.uniform(0, 6.28), share * 0.9 * math.sqrt(random.random())
            figure.dot((r * math.cos(a), r * math.sin(a)), DOTS[inside], within=core)
    if inside == "woody":
        for grown in (0.4, 0.6, 0.8):
            figure.shape([(x * grown, y * grown) for x, y in ring], FINE * 0.7, "")
    if inside == "chambered":
        figure.line([(-share, 0), (0, 0.04), (share, 0)], FINE)
