"""Labels beside a figure: what they say, and where they stand so that none touches another."""

from dataclasses import dataclass

from curriculum.compute.drawing.curves import Point
from curriculum.compute.drawing.letters import LEADING, SIZE, lines
from curriculum.compute.drawing.pen import Figure
from curriculum.compute.drawing.specimen import Specimen

COLUMN = 25.0
GAP = 1.6
SHORT = 26

# The short name of each character that may be labelled, and its side: 0 left (as found), 1 right (cut).
LABELLED: dict[str, tuple[str, int]] = {
    "form": ("form", 1), "cap_shape": ("cap", 0), "cap_margin": ("edge", 0), "cap_surface": ("surface", 0),
    "cap_lines": ("edge", 0), "cap_fringe": ("edge", 0), "volva": ("base", 0),
    "ring": ("ring", 0), "stem_surface": ("stem", 0), "stem_net": ("net", 0), "stem_base": ("base", 0),
    "gill_attachment": ("gills", 1), "underside": ("underside", 1), "gill_spacing": ("gills", 1),
    "stem_inside": ("inside", 1), "stem_shape": ("stem", 1), "leaf_arrangement": ("leaves", 0),
    "inflorescence": ("flowers", 1), "underground": ("below ground", 1), "bracts": ("bracts", 1),
    "frond_form": ("form", 0), "branching": ("branching", 1), "midrib": ("midrib", 0), "bladders": ("bladders", 1),
    "stipe": ("stalk", 0), "holdfast": ("holdfast", 1), "flesh_thickness": ("flesh", 1), "skin": ("skin", 1),
    "cut_section": ("cut", 1), "cap_joining": ("cap", 1), "stem": ("stem", 1),
}  # fmt: skip
# Told by a small view or by another label where both are there.
SILENT = {"gill_spacing", "stem_shape"}
ABSENT = {"none", "absent", ""}


@dataclass(frozen=True, slots=True)
class Label:
    """Lines of text about one character; the first `plain` lines tell what is drawn, the rest what else is recorded."""

    character: str
    lines: tuple[str, ...]
    plain: int
    side: int
    at: Point

    @property
    def height(self) -> float:
        """Height on paper in millimetres."""
        return len(self.lines) * LEADING


@dataclass(frozen=True, slots=True)
class Spot:
    """A label and the paper point that it points at, from the middle and the top of its figure."""

    label: Label
    point: Point


def labels_of(specimen: Specimen, figure: Figure) -> list[Label]:
    """One label for each character that is drawn and can be pointed at."""
    return [
        _label(specimen, character, at, (LABELLED[character][0], _side(figure, at, LABELLED[character][1])))
        for character, at in figure.anchors.items()
        if character in LABELLED and character not in SILENT and specimen.drawn.get(character, "none") not in ABSENT
    ]


def _side(figure: Figure, at: Point, usual: int) -> int:
    """The usual side, unless the point lies clearly in the other half."""
    x0, _, x1, _ = figure.box()
    share = (at[0] - x0) / (x1 - x0)
    return usual if 0.38 < share < 0.62 else int(share > 0.5)


def _label(specimen: Specimen, character: str, at: Point, told: tuple[str, int]) -> Label:
    name, side = told
    plain = lines(f"{name}: {short(specimen.label(character, specimen.drawn[character]))}", COLUMN, SIZE)
    others = [short(other) for other in specimen.others(character)]
    more = lines(f"or {', '.join(others)}", COLUMN, SIZE) if others else []
    return Label(character, (*plain, *more), len(plain), side, at)


def short(words: str) -> str:
    """A state's words; long ones up to the first comma, unless that would only say what is not there."""
    return words if len(words) <= SHORT or words.startswith("no ") else words.split(",")[0]


def column(spots: list[Spot], side: int, room: float = 0.0) -> tuple[list[tuple[Spot, float]], float]:
    """The labels of one side with their tops, in order of what they point at, and the height that they need.

    Each stands as near to the height of its point as its neighbours allow; none leaves the room.
    """
    mine = sorted((spot for spot in spots if spot.label.side == side), key=lambda spot: spot.point[1])
    need = sum(spot.label.height + GAP for spot in mine) - (GAP if mine else 0)
    tops: list[float] = []
    floor = 0.0
    for spot in mine:
        tops.append(max(floor, spot.point[1] - LEADING / 2))
        floor = tops[-1] + spot.label.height + GAP
    ceiling = max(room, need)
    for i in reversed(range(len(mine))):
        tops[i] = min(tops[i], ceiling - mine[i].label.height)
        ceiling = tops[i] - GAP
    return list(zip(mine, tops, strict=True)), need


def leader(edge: float, side: int, top: float, point: Point) -> list[Point]:
    """The thin line from a label's first line to its point."""
    out = 0.7 if side == 0 else -0.7
    return [(edge + out, top + LEADING * 0.5), point]
