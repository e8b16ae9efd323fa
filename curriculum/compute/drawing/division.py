"""Divided leaves: leaflets of one form set along a midrib, in a hand, or again on smaller stalks."""

from collections.abc import Callable
from dataclasses import replace

from curriculum.compute.drawing.curves import mirrored
from curriculum.compute.drawing.leaf import LOBES, STALKS, Leaf, blade, half_width, stalk, undivided
from curriculum.compute.drawing.pen import FINE, HAIR, OUTLINE, Figure, Size


def draw_leaf(figure: Figure, leaf: Leaf, sizes: tuple[Size, ...] = ()) -> None:
    """The whole leaf from the foot of its stalk."""
    DIVIDED.get(leaf.division, undivided)(figure, leaf, sizes)


def _leaflet(leaf: Leaf, share: float = 1.0, *, fine: bool | None = None) -> Leaf:
    keep = leaf.fine if fine is None else fine
    return replace(
        leaf, length=leaf.length * share, width=leaf.width * share, division="undivided", stalk="none", fine=keep
    )


def _trefoil(figure: Figure, leaf: Leaf, sizes: tuple[Size, ...]) -> None:
    long = max(STALKS.get(leaf.stalk, 0.4), 0.3) * leaf.length
    stalk(figure, leaf, long)
    for turn in (1.15, -1.15):
        blade(figure, _leaflet(leaf, 0.92), (0.0, long), turn)
    blade(figure, _leaflet(leaf), (0.0, long), 0.0, sizes)


def _pinnate(figure: Figure, leaf: Leaf, sizes: tuple[Size, ...]) -> None:
    """Leaflets in pairs along a midrib and one at the end."""
    pairs = max(1, (leaf.leaflets - 1) // 2)
    gap, foot = max(0.42, 1.15 * 2 * half_width(leaf) / leaf.length) * leaf.length, 0.45 * leaf.length
    top = foot + gap * (pairs - 1) + 0.42 * gap
    figure.line([(0.0, 0.0), (0.0, top * 0.5), (0.0, top)], OUTLINE * 0.9)
    for k in range(pairs):
        share = 0.86 + 0.1 * k / max(1, pairs - 1)
        for side in (1, -1):
            blade(figure, _leaflet(leaf, share), (0.0, foot + gap * k), side * (1.2 - 0.12 * k))
    blade(figure, _leaflet(leaf), (0.0, top), 0.0, sizes)


def _twice(figure: Figure, leaf: Leaf, sizes: tuple[Size, ...]) -> None:
    """Pinnae that are themselves pinnate, in a broad triangle."""
    rank = 4
    gap = 1.7 * leaf.length
    foot = 1.6 * leaf.length
    top = foot + gap * (rank - 0.4)
    figure.line([(0.0, 0.0), (0.0, top)], OUTLINE)
    if leaf.stalk == "sheath":
        figure.shape(
            [
                (-0.3 * leaf.length, 0.0),
                (-0.34 * leaf.length, 0.7 * leaf.length),
                (0, 1.3 * leaf.length),
                (0.34 * leaf.length, 0.7 * leaf.length),
                (0.3 * leaf.length, 0),
            ],
            OUTLINE * 0.8,
        )
    small = replace(leaf, division="pinnate", fine=False, veins="not_seen", margin=_at_a_distance(leaf.margin))
    for k in range(rank):
        pinna = Figure(figure.taxon)
        _pinnate(pinna, replace(small, leaflets=9 - 2 * k, length=leaf.length * (1 - 0.07 * k)), ())
        for side in (1, -1):
            figure.include(pinna, (0.0, foot + gap * k), turn=side * (1.08 - 0.08 * k), scale=0.86, lighter=0.6)
    last = Figure(figure.taxon)
    _pinnate(last, replace(small, leaflets=3), ())
    figure.include(last, (0.0, top), scale=0.9, lighter=0.6)
    if leaf.fine:
        blade(figure, _leaflet(leaf), (2.4 * leaf.length, 0.0), 0.0, sizes)


def _at_a_distance(margin: str) -> str:
    """Lobes still show on the smallest leaflets, teeth do not."""
    return margin if margin in LOBES else "plain"


def _threes(figure: Figure, leaf: Leaf, sizes: tuple[Size, ...]) -> None:
    """Three stalked parts, each of three leaflets."""
    part = Figure(figure.taxon)
    _trefoil(part, _leaflet(leaf), ())
    rise = 1.1 * leaf.length
    figure.line([(0.0, 0.0), (0.0, rise * 1.15)], OUTLINE * 0.9)
    for turn in (1.2, -1.2):
        figure.include(part, (0.0, rise), turn=turn, scale=0.92)
    figure.include(part, (0.0, rise * 1.1))
    blade(figure, _leaflet(leaf), (0.0, rise * 1.1 + 0.3 * leaf.length), 0.0, sizes)


def _fern(figure: Figure, leaf: Leaf, sizes: tuple[Size, ...]) -> None:
    """Feathered down to threads."""
    figure.line([(0.0, 0.0), (0.0, 4.2 * leaf.length)], OUTLINE * 0.8)
    for k in range(9):
        y, reach = (0.9 + 0.36 * k) * leaf.length, (1.7 - 0.16 * k) * leaf.length
        for side in (1, -1):
            figure.line([(0, y), (side * reach, y + reach * 0.45)], FINE)
            for j in range(1, 7):
                x0, y0 = side * reach * j / 6, y + reach * 0.45 * j / 6
                r = 0.3 * reach * (1 - j / 8)
                for up in (1, -0.5):
                    figure.stroke(
                        [(x0, y0), (x0 + side * r * 0.4, y0 + up * r * 0.6), (x0 + side * r * 0.6, y0 + up * r)],
                        0.22,
                        head=0.2,
                    )


def _hand(figure: Figure, leaf: Leaf, sizes: tuple[Size, ...]) -> None:
    long = max(STALKS.get(leaf.stalk, 0.5), 0.4) * leaf.length
    stalk(figure, leaf, long)
    for turn in (1.5, -1.5, 0.8, -0.8):
        blade(figure, _leaflet(leaf, 0.8 if abs(turn) > 1 else 0.94), (0.0, long), turn)
    blade(figure, _leaflet(leaf), (0.0, long), 0.0, sizes)


def _needle(figure: Figure, leaf: Leaf, sizes: tuple[Size, ...]) -> None:
    w = (leaf.width or 0.06 * leaf.length) / 2
    shares = ((0.0, 0.4), (0.04, 0.85), (0.12, 1.0), (0.3, 1.0), (0.6, 1.0), (0.84, 1.0), (0.95, 0.7))
    right = [(w * wide, leaf.length * t) for t, wide in shares]
    outline = [*mirrored(right), (0.0, leaf.length), *reversed(right)]
    figure.shape(outline, OUTLINE * 0.8, sizes=sizes)
    figure.line([(0, leaf.length * 0.08), (0, leaf.length * 0.94)], HAIR)


def _joints(figure: Figure, leaf: Leaf, sizes: tuple[Size, ...]) -> None:
    for k in range(6):
        w, y, h = 0.13 * leaf.length * (1 - 0.06 * k), k * 0.17 * leaf.length, 0.17 * leaf.length
        figure.shape(
            [
                (-w * 0.7, y),
                (-w, y + h * 0.4),
                (-w * 0.9, y + h * 0.9),
                (0, y + h),
                (w * 0.9, y + h * 0.9),
                (w, y + h * 0.4),
                (w * 0.7, y),
            ],
            OUTLINE * 0.8,
        )


def _lobed(figure: Figure, leaf: Leaf, sizes: tuple[Size, ...]) -> None:
    undivided(figure, replace(leaf, margin="lobed"), sizes)


DIVIDED: dict[str, Callable[[Figure, Leaf, tuple[Size, ...]], None]] = {
    "undivided": undivided, "lobed": _lobed, "three_leaflets": _trefoil, "pinnate": _pinnate, "twice_pinnate": _twice,
    "in_threes": _threes, "fern_fine": _fern, "palmate": _hand, "needle": _needle, "joints": _joints,
}  # fmt: skip
