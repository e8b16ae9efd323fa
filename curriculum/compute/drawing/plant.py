"""Plants: the whole herb, or a twig of a shrub, with the leaf, the stem cut across, a flower and a fruit beside it.

The whole herb is drawn to its recorded height; its leaves stand to scale where their length is recorded
too, but never smaller than can be seen. What is
below ground is drawn because it settles a name, never because it should be dug up.
"""

import math
from collections.abc import Callable
from dataclasses import replace

from curriculum.compute.drawing.blossom import KINDS, draw_inflorescence
from curriculum.compute.drawing.curves import box
from curriculum.compute.drawing.division import draw_leaf
from curriculum.compute.drawing.leaf import BLADES, Leaf
from curriculum.compute.drawing.pen import FINE, OUTLINE, Figure, Size
from curriculum.compute.drawing.root import KINDS as ROOTS
from curriculum.compute.drawing.root import draw_underground
from curriculum.compute.drawing.specimen import Specimen
from curriculum.compute.drawing.stemcut import stem_surface

WOODY = ("shrub", "tree", "woody_climber", "dwarf_shrub")
NUMBERS = {"three": 3, "five": 5, "seven": 7, "nine": 9, "eleven_or_more": 11, "many": 13}
BASAL = ("separate_from_ground", "rosette", "tufted", "scattered_upright", "sheathed_pair", "none")
# Share of the plant's height that a leaf takes where its own length is not recorded.
LEAF_SHARE = {
    "separate_from_ground": 0.62,
    "sheathed_pair": 0.58,
    "tufted": 0.6,
    "scattered_upright": 0.62,
    "rosette": 0.36,
}
NEUTRAL_HEIGHT = 300.0
BLOSSOM = 0.26
SMALLEST = 0.17
LIGHTER = {"twice_pinnate": 0.55, "fern_fine": 0.6, "in_threes": 0.7, "pinnate": 0.8, "palmate": 0.85}


def leaf_of(specimen: Specimen, *, fine: bool = True) -> Leaf:
    """The leaf as recorded; neutral sizes where they are unknown."""
    division = specimen.state("leaf_division")
    compound = division in ("pinnate", "twice_pinnate", "three_leaflets", "palmate", "fern_fine", "in_threes")
    length = specimen.size("leaflet_length" if compound else "leaf_length")
    return Leaf(
        length=length or 60.0,
        width=0.0 if compound else _width(specimen, length),
        shape=specimen.state("leaf_shape", BLADES),
        base=specimen.state("leaf_base"),
        margin=specimen.state("leaf_margin"),
        veins=specimen.state("leaf_veins"),
        hairs=specimen.state("leaf_hairs"),
        marks=specimen.state("leaf_marks"),
        shine=specimen.state("leaf_shine"),
        stalk=specimen.state("leaf_stalk"),
        division=division,
        leaflets=NUMBERS.get(specimen.state("leaflet_number"), 5) if compound else 1,
        fine=fine,
    )


def _width(specimen: Specimen, length: float | None) -> float:
    """The recorded width, only where the length is recorded too: a width alone would give a false form."""
    width = specimen.size("leaf_width")
    return min(width, 1.6 * length) if width and length else 0.0


def leaf_view(specimen: Specimen) -> Figure | None:
    """One leaf with its stipules; None where neither its shape nor its division is recorded."""
    leaf = leaf_of(specimen)
    if not (leaf.shape or leaf.division):
        return None
    compound = leaf.leaflets > 1
    size = "leaflet_length" if compound else "leaf_length"
    recorded = specimen.size(size)
    figure = Figure(specimen.taxon, _leaf_title(specimen, leaf), measured=recorded is not None, tall=38.0)
    sizes = [Size(size, leaf.length, "height")] if recorded else []
    if leaf.width:
        sizes.append(Size("leaf_width", leaf.width))
    if leaf.base in ("heart", "lobes_back", "uneven") or leaf.shape in ("heart_base", "arrow_base"):
        sizes = [size for size in sizes if size.across == "width"]
    draw_leaf(figure, leaf, tuple(sizes))
    _stipules(figure, specimen.state("stipules"), leaf.length)
    _leaf_anchors(figure, leaf)
    return figure


def _leaf_anchors(figure: Figure, leaf: Leaf) -> None:
    x0, y0, x1, y1 = figure.box()
    tall, middle = y1 - y0, (x0 + x1) / 2
    places = {
        "leaf_division": (middle, y0 + 0.5 * tall), "leaf_shape": (middle + 0.2 * (x1 - x0), y0 + 0.62 * tall),
        "leaf_margin": (x1 - 0.16 * (x1 - x0), y0 + 0.7 * tall),
        "leaf_veins": (middle + 0.06 * (x1 - x0), y0 + 0.74 * tall), "leaf_base": (0.0, y0 + 0.36 * tall),
        "leaf_stalk": (0.0, y0 + 0.12 * tall), "stipules": (0.0, 0.0), "leaflet_number": (middle, y0 + 0.42 * tall),
        "leaf_hairs": (middle - 0.1 * (x1 - x0), y0 + 0.6 * tall), "leaf_length": (0.0, y1),
        "leaf_width": (x1 - 0.16 * (x1 - x0), y0 + 0.6 * tall), "leaflet_length": (0.0, y1),
    }  # fmt: skip
    figure.anchors.update(places)


def _leaf_title(specimen: Specimen, leaf: Leaf) -> str:
    words = [
        specimen.label(c, s).split(",")[0]
        for c, s in (
            ("leaf_division", leaf.division if leaf.division != "undivided" else ""),
            ("leaf_shape", leaf.shape),
            ("leaf_margin", leaf.margin),
        )
        if s
    ]
    if leaf.margin:
        words[-1] = f"edge {words[-1]}"
    words = [word for i, word in enumerate(words) if word not in words[:i]]
    return f"leaf: {', '.join(words)}"


def _stipules(figure: Figure, kind: str, length: float) -> None:
    size = {"small": 0.07, "leafy": 0.22}.get(kind, 0.0) * length
    for side in (-1, 1):
        if size:
            figure.shape(
                [
                    (0, 0),
                    (side * size * 0.5, size * 0.15),
                    (side * size * 0.8, size * 0.7),
                    (side * size * 0.2, size * 0.6),
                ],
                FINE,
            )
    if kind == "papery_sheath":
        w = 0.05 * length
        figure.shape([(-w, -w), (-w, w * 1.5), (0, w * 2.2), (w, w * 1.5), (w, -w)], FINE)
        figure.line([(-w * 0.3, -w), (-w * 0.3, w)], FINE)


def habit(specimen: Specimen) -> Figure:
    """The whole plant from root to flower, or a flowering twig of a woody one."""
    woody = bool(specimen.states("life_form")) and specimen.state("life_form") in WOODY
    draft = Figure(specimen.taxon)
    arrangement, blossom = specimen.state("leaf_arrangement"), specimen.state("inflorescence", (*KINDS, "none"))
    flowering = blossom not in ("", "none")
    height = None if woody else specimen.size("plant_height")
    top = 1 - BLOSSOM if flowering and blossom != "axils" else 1.0
    stemless = not woody and not flowering and arrangement in BASAL
    _leaves_and_stem(draft, specimen, arrangement, 0.0 if stemless else top, woody)
    if flowering:
        _blossom(draft, specimen, blossom, top, arrangement)
    if not woody:
        _below(draft, specimen)
    figure = Figure(specimen.taxon, measured=height is not None, note="a twig, not to scale" if woody else "")
    scale = height or NEUTRAL_HEIGHT
    figure.include(draft, (0.0, 0.0), scale=scale)
    for character, (x, y) in draft.anchors.items():
        figure.anchor(character, (x * scale, y * scale))
    if height:
        _measuring_line(figure, height)
    return figure


def _measuring_line(figure: Figure, height: float) -> None:
    """The recorded height from the ground up, beside the plant."""
    right = figure.box()[2] + 0.05 * height
    tick = 0.012 * height
    figure.line(
        [(right - tick, 0), (right, 0), (right, height), (right - tick, height)],
        FINE,
        sizes=[Size("plant_height", height, "height")],
    )


def _leaves_and_stem(draft: Figure, specimen: Specimen, arrangement: str, top: float, woody: bool) -> None:
    little = _little_leaf(specimen, arrangement)
    thick = 0.02 if woody else 0.011
    behind = arrangement in ("sheathed_pair",)
    if top and not behind:
        _stem(draft, specimen, top, thick, woody)
    if little:
        ARRANGED.get(arrangement, _nothing)(draft, little, top)
        if arrangement not in ("", "none"):
            draft.anchor("leaf_arrangement", (-0.1, 0.34))
    if top and behind:
        _stem(draft, specimen, top, thick, woody)


def _stem(draft: Figure, specimen: Specimen, top: float, thick: float, woody: bool) -> None:
    low = -0.12 if woody else 0.0
    draft.area([(-thick, low), (-thick * 0.7, top), (thick * 0.7, top), (thick, low)])
    for side in (-1, 1):
        draft.line([(side * thick, low), (side * thick * 0.85, top * 0.5), (side * thick * 0.7, top)], OUTLINE * 0.8)
    _stem_marks(draft, specimen, top, thick)


def _stem_marks(draft: Figure, specimen: Specimen, top: float, thick: float) -> None:
    surface, marks = stem_surface(specimen), specimen.state("stem_marks")
    random = draft.random("stem")
    if surface in ("hairy", "stinging", "bristly", "downy", "thorns"):
        long = {"thorns": 0.03, "stinging": 0.024, "bristly": 0.026, "downy": 0.01}.get(surface, 0.018)
        for k in range(10 if surface == "thorns" else 36):
            side, y = (1 if k % 2 else -1), top * (0.04 + 0.92 * random.random())
            draft.stroke(
                [
                    (side * thick, y),
                    (side * (thick + long * 0.6), y + long * 0.1),
                    (side * (thick + long), y + long * 0.4),
                ],
                0.3 if surface == "thorns" else 0.16,
                head=0.1,
            )
    if surface in ("pores", "corky"):
        for _ in range(16):
            y, x = top * random.uniform(-0.1, 0.95), random.uniform(-0.6, 0.6) * thick
            draft.stroke([(x, y), (x + 0.001, y + 0.008), (x, y + 0.016)], 0.45)
    if marks in ("purple_blotches", "striped", "flushed"):
        for _ in range(22):
            y, x = top * random.uniform(0.03, 0.8), random.uniform(-0.6, 0.6) * thick
            draft.stroke([(x, y), (x + 0.002, y + 0.012), (x, y + 0.024)], 0.6 if marks == "purple_blotches" else 0.25)


def _little_leaf(specimen: Specimen, arrangement: str) -> Figure | None:
    """One leaf for the whole plant, in shares of its height; None where no form of it is recorded."""
    leaf = leaf_of(specimen, fine=False)
    if not (leaf.shape or leaf.division):
        return None
    leaf = replace(leaf, stalk=leaf.stalk or ("long" if arrangement == "separate_from_ground" else "short"))
    draft = Figure(specimen.taxon)
    draw_leaf(draft, leaf)
    _, low, _, high = draft.box()
    share = _share(specimen, leaf, arrangement, high - low)
    figure = Figure(specimen.taxon)
    figure.include(draft, (0.0, 0.0), scale=share / (high - low), lighter=LIGHTER.get(leaf.division, 1.0))
    return figure


def _share(specimen: Specimen, leaf: Leaf, arrangement: str, tall: float) -> float:
    """How much of the height one leaf takes: as recorded where both are, else a usual share; always drawable."""
    height, recorded = specimen.size("plant_height"), specimen.size("leaf_length")
    usual = LEAF_SHARE.get(arrangement, 0.42 if leaf.leaflets > 1 else 0.27)
    if height and recorded and leaf.leaflets == 1:
        return min(max(tall / height, SMALLEST), 0.8)
    return usual


def _nothing(draft: Figure, leaf: Figure, top: float) -> None:
    """Arrangement unknown: no leaf is set anywhere."""


def _from_ground(draft: Figure, leaf: Figure, top: float) -> None:
    for x, turn, scale in ((-0.05, 0.5, 0.86), (0.06, -0.52, 0.9), (-0.02, 0.2, 1.0)):
        draft.include(leaf, (x, 0.0), turn=turn, scale=scale)


def _sheathed(draft: Figure, leaf: Figure, top: float) -> None:
    """Two leaves, the outer one's foot wrapped round the inner and the stem."""
    draft.include(leaf, (0.02, 0.16), turn=-0.3, scale=0.96)
    draft.include(leaf, (-0.01, 0.14), turn=0.26)
    draft.shape(
        [(-0.024, -0.02), (-0.03, 0.1), (-0.022, 0.19), (0.0, 0.15), (0.022, 0.2), (0.03, 0.1), (0.024, -0.02)],
        OUTLINE * 0.8,
    )
    draft.line([(0.006, 0.0), (0.012, 0.08), (0.0, 0.15)], FINE)


def _rosette(draft: Figure, leaf: Figure, top: float) -> None:
    for turn, scale in ((1.35, 1.0), (-1.35, 1.0), (0.95, 0.86), (-0.95, 0.88), (0.5, 0.7), (-0.45, 0.72)):
        draft.include(leaf, (0.0, 0.02), turn=turn, scale=scale)


def _tuft(draft: Figure, leaf: Figure, top: float) -> None:
    for turn, scale in ((0.42, 0.8), (-0.4, 0.84), (0.2, 0.96), (-0.16, 1.0), (0.02, 0.9)):
        draft.include(leaf, (-0.04 * turn, 0.0), turn=turn, scale=scale)


def _nodes(top: float, first: float, count: int) -> list[float]:
    return [first + (0.94 * top - first) * k / count for k in range(count)]


def _alternate(draft: Figure, leaf: Figure, top: float) -> None:
    for k, y in enumerate(_nodes(top, 0.12, 5)):
        draft.include(leaf, (0.0, y), turn=(1 if k % 2 else -1) * (1.05 - 0.07 * k), scale=1 - 0.11 * k)


def _opposite(draft: Figure, leaf: Figure, top: float) -> None:
    for k, y in enumerate(_nodes(top, 0.14, 4)):
        for side in (-1, 1):
            draft.include(leaf, (0.0, y), turn=side * (1.16 - 0.07 * k), scale=1 - 0.12 * k, flip=side > 0)


def _whorled(draft: Figure, leaf: Figure, top: float) -> None:
    for k, y in enumerate(_nodes(top, 0.16, 4)):
        for turn, scale in ((1.3, 0.8), (-1.3, 0.8), (0.8, 0.6), (-0.8, 0.6), (1.75, 0.62), (-1.75, 0.62)):
            draft.include(leaf, (0.0, y), turn=turn, scale=scale * (1 - 0.1 * k))


def _spiral(draft: Figure, leaf: Figure, top: float) -> None:
    for k, y in enumerate(_nodes(top, 0.08, 11)):
        turn = 1.15 * math.sin(2.4 * k + 0.6)
        draft.include(leaf, (0.0, y), turn=turn + (0.35 if turn > 0 else -0.35), scale=0.8 * (1 - 0.05 * k))


ARRANGED: dict[str, Callable[[Figure, Figure, float], None]] = {
    "separate_from_ground": _from_ground, "sheathed_pair": _sheathed, "rosette": _rosette, "tufted": _tuft,
    "scattered_upright": _tuft, "alternate": _alternate, "opposite": _opposite, "whorled": _whorled, "spiral": _spiral,
}  # fmt: skip


def _blossom(draft: Figure, specimen: Specimen, kind: str, top: float, arrangement: str) -> None:
    head = Figure(specimen.taxon)
    petals = specimen.state("petals")
    umbel = kind in ("umbel", "compound_umbel")
    bracts = specimen.state("bracts") if umbel else ""
    bracteoles = specimen.state("bracteoles") if kind == "compound_umbel" else ""
    draw_inflorescence(head, kind, petals, bracts, bracteoles)
    low, high = (0.3, 0.97) if kind == "axils" else (top, 1.0)
    _, _, _, tall = box(point for mark in head.marks for point in mark.points)
    scale = (high - low) / tall
    draft.include(head, (0.0, low), scale=scale)
    draft.anchor("inflorescence", (0.06, low + 0.55 * (high - low)))
    if bracts not in ("", "none"):
        draft.anchor("bracts", (0.1 * scale, low - 0.02))


def _below(draft: Figure, specimen: Specimen) -> None:
    kind = specimen.state("underground", ROOTS)
    root = Figure(specimen.taxon)
    draw_underground(root, kind)
    if root.marks:
        draft.include(root, (0.0, -0.01), scale=0.2)
        draft.anchor("underground", (0.03, -0.09))
    for side in (-1, 1):
        draft.stroke([(side * 0.07, 0.0), (side * 0.2, -0.004), (side * 0.36, 0.003)], 0.28)
