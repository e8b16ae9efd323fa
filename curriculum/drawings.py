"""The drawings of accounts, drawn once a process for each content."""

from __future__ import annotations

from curriculum.compute.drawing.plate import plate
from curriculum.compute.drawing.sheet import Plate
from curriculum.queries import AccountInUse, vocabulary

_DRAWN: dict[str, Plate] = {}
MOST_DRAWN = 1_000


def drawing_of(one: AccountInUse) -> Plate:
    """The plate of the account in use, as a grown specimen. No query."""
    key = one.version.sha256
    if key not in _DRAWN:
        if len(_DRAWN) >= MOST_DRAWN:
            _DRAWN.clear()
        _DRAWN[key] = plate(one.account, vocabulary())
    return _DRAWN[key]
