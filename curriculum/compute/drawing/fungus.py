"""A fungus with a stem in one view: the left half as found, the right half cut open."""

from dataclasses import dataclass

from curriculum.compute.drawing.cap import SHAPES, Cap, cap_of, far_wall, half_as_found, silhouette
from curriculum.compute.drawing.ground import WOOD, draw_ground
from curriculum.compute.drawing.pen import Figure, Size
from curriculum.compute.drawing.section import (
    RUN,
    Section,
    Under,
    draw_section,
    edge_ornaments,
    flesh_under,
    underside_seen,
)
from curriculum.compute.drawing.specimen import Specimen
from curriculum.compute.drawing.stem import Stem, draw_inside, draw_stem, draw_stem_surface, shade_stem
from curriculum.compute.drawing.surface import draw_surface
from curriculum.compute.drawing.united import base_of, edge_of
from curriculum.compute.drawing.wrappings import draw_base, draw_ring

# Where a size is unknown it follows the others in these neutral proportions, and the figure carries no scale.
NEUTRAL_CAP = 60.0
NEUTRAL_LENGTH = 1.0
NEUTRAL_WIDTH = 0.14


@dataclass(frozen=True, slots=True)
class Sizes:
    """Cap width, stem length and stem width in mm, and which of them were recorded."""

    cap: float
    length: float
    width: float
    recorded: frozenset[str]


def sizes_of(specimen: Specimen) -> Sizes:
    """Recorded middles; an unknown one follows in a neutral proportion from those known."""
    cap, length, width = (specimen.size(c) for c in ("cap_width", "stem_length", "stem_width"))
    known = {"cap_width": cap, "stem_length": length, "stem_width": width}
    base = cap or (length and length / NEUTRAL_LENGTH) or (width and width / NEUTRAL_WIDTH) or NEUTRAL_CAP
    return Sizes(
        cap or base,
        length or base * NEUTRAL_LENGTH,
        width or min(base, length or base) * NEUTRAL_WIDTH,
        frozenset(character for character, size in known.items() if size),
    )


def stemmed(specimen: Specimen) -> Figure:
    """Cap and stem to scale, from the characters that are recorded at this stage."""
    sizes = sizes_of(specimen)
    figure = Figure(specimen.taxon, measured=bool(sizes.recorded))
    section = _built(specimen, sizes)
    cap, stem = section.cap, section.stem
    ring, surface, base = specimen.state("ring"), _stem_surface(specimen), stem.base
    _ground(figure, specimen, section)
    if base == "joined":
        draw_base(figure, stem, base)
    rim = cap.level - 0.13 * cap.radius
    left = draw_stem(figure, stem, _stem_sizes(sizes), max(rim, 0.3 * stem.length))
    shade_stem(figure, stem, left, _bare(section))
    draw_stem_surface(figure, stem, surface, left, min(stem.length, cap.level))
    draw_inside(figure, stem, specimen.state("stem_inside"), section.ceiling(section.start))
    if base != "joined":
        draw_base(figure, stem, base)
    _cap(figure, specimen, section, sizes)
    draw_ring(figure, stem, ring, cap.seen(len(cap.profile) - 1, 1.57), cap.radius)
    _stem_anchors(figure, stem)
    return figure


def _built(specimen: Specimen, sizes: Sizes) -> Section:
    shape, margin = specimen.state("cap_shape", SHAPES), edge_of(specimen)
    radius = sizes.cap / 2
    stem = Stem(sizes.length, min(sizes.width, 1.5 * radius), specimen.state("stem_shape"), base_of(specimen))
    under = _under(specimen)
    cap = cap_of(shape, radius, margin, 0.8 * sizes.length + 0.25 * radius)
    flesh = flesh_under(under.kind, max(y for _, y in cap.profile), radius, specimen.state("flesh_thickness"))
    flat = Section(cap, stem, under, flesh)
    lift = stem.length - flat.ceiling(flat.start)
    placed = Cap(cap.radius, cap.profile, lift, cap.hollow, cap.wave, cap.lobes)
    return Section(placed, stem, under, flesh)


def _under(specimen: Specimen) -> Under:
    return Under(
        specimen.state("underside"),
        specimen.state("gill_attachment"),
        specimen.state("gill_spacing"),
        specimen.state("gill_edge"),
        specimen.state("pores"),
    )


def _stem_surface(specimen: Specimen) -> str:
    net = specimen.state("stem_net")
    surface = specimen.state("stem_surface")
    return "net" if net not in ("", "none") else surface


def _stem_sizes(sizes: Sizes) -> list[Size]:
    wanted = (Size("stem_length", sizes.length, "height"), Size("stem_width", sizes.width, "middle"))
    return [size for size in wanted if size.character in sizes.recorded]


def _cap(figure: Figure, specimen: Specimen, section: Section, sizes: Sizes) -> None:
    cap = section.cap
    far_wall(figure, cap)
    draw_section(figure, section)
    if cap.hollow:
        underside_seen(figure, section)
    outline = half_as_found(figure, cap)
    draw_surface(figure, cap, specimen.state("cap_surface"), outline)
    edge_ornaments(figure, cap, edge_of(specimen), figure.random("edge"))
    recorded = [Size("cap_width", sizes.cap)] if "cap_width" in sizes.recorded else []
    figure.line(silhouette(cap), sizes=recorded)
    if cap.shoulder():
        figure.line([(x, cap.level + y) for x, y in cap.profile])
    figure.anchor("cap_shape", cap.seen(len(cap.profile) * 0.45, -1.4))
    figure.anchor("cap_width", cap.seen(len(cap.profile) * 0.3, -1.4))
    figure.anchor("cap_surface", cap.seen(len(cap.profile) * 0.55, -0.8))
    for character in ("cap_margin", "cap_lines", "cap_fringe"):
        figure.anchor(character, cap.seen(len(cap.profile) - 1, -1.2))
    figure.anchor(
        "flesh_thickness", (cap.radius * 0.3, section.ceiling(cap.radius * 0.3) * 0.5 + cap.top(cap.radius * 0.3) * 0.5)
    )


def _bare(section: Section) -> float:
    """Up to where the stem is free of gills that run down."""
    return min(
        section.cap.level,
        0.98 * section.stem.length * (1 - RUN.get(section.under.attachment, 0.0)) + 0.02 * section.stem.length,
    )


def _stem_anchors(figure: Figure, stem: Stem) -> None:
    for character, t, across in (
        ("stem_surface", 0.42, -0.7), ("stem_net", 0.5, -0.7), ("stem_shape", 0.3, -0.98), ("stem_width", 0.5, -0.98),
        ("stem_inside", 0.46, 0.3), ("stem_length", 0.24, 0.98),
    ):  # fmt: skip
        figure.anchor(character, stem.at(t, across))
    figure.anchors.setdefault("ring", stem.at(0.68, -0.98))
    figure.anchors.setdefault("stem_base", stem.at(0.06, -0.95))


def _ground(figure: Figure, specimen: Specimen, section: Section) -> None:
    stem, substrate = section.stem, specimen.state("substrate")
    gap = max(stem.half(t) for t in (0.02, 0.05, 0.1)) * 1.25 + (
        0.35 * stem.width if stem.base == "bag" else 0.12 * stem.width
    )
    reach = max(0.95 * section.cap.radius, gap + 0.4 * section.cap.radius)
    draw_ground(figure, substrate, reach, gap, 0.0 if substrate in WOOD else 0.05 * stem.length)
