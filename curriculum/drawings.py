"""The drawings of accounts, drawn once a process for each content."""

from __future__ import annotations

from collections.abc import Callable

from curriculum.compute.apart import Apart
from curriculum.compute.drawing.figure import bare_figure
from curriculum.compute.drawing.pair import pair_plate
from curriculum.compute.drawing.plate import plate
from curriculum.compute.drawing.sheet import Plate
from curriculum.queries import AccountInUse, vocabulary

_DRAWN: dict[tuple[str, ...], Plate] = {}
MOST_DRAWN = 2_000


def drawing_of(one: AccountInUse, *, details: bool = True) -> Plate:
    """The plate of the account in use, as a grown specimen; without `details`, its main figure alone. No query."""
    key = ("plate" if details else "main", one.version.sha256)
    return _drawn(key, lambda: plate(one.account, vocabulary(), details=details))


def figure_of(one: AccountInUse) -> Plate:
    """Its main figure alone, with a scale bar in large letters. No query."""
    return _drawn(("figure", one.version.sha256), lambda: bare_figure(one.account, vocabulary()))


def pair_drawing_of(one: AccountInUse, other: AccountInUse, apart: Apart) -> Plate:
    """Both accounts on one plate at one scale, marked where `apart` tells them apart. No query."""
    characters = tuple(dict.fromkeys(row.character for row in apart.rows if row.helps))
    key = ("pair", one.version.sha256, other.version.sha256, *characters)
    return _drawn(key, lambda: pair_plate(one.account, other.account, vocabulary(), characters, small=True))


def _drawn(key: tuple[str, ...], draw: Callable[[], Plate]) -> Plate:
    if key not in _DRAWN:
        if len(_DRAWN) >= MOST_DRAWN:
            _DRAWN.clear()
        _DRAWN[key] = draw()
    return _DRAWN[key]
