"""What several changes of a walk come to for a reader who heard of none of them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True)
class Told:
    """One fact of one walk before and after, in words."""

    walk: int
    field: str
    label: str
    before: str
    after: str


def net_changes(changes: Iterable[Told]) -> list[Told]:
    """One line a fact, from the first "before" to the last "after"; what is as it was again is left out."""
    net: dict[tuple[int, str], Told] = {}
    for one in changes:
        first = net.get((one.walk, one.field))
        net[one.walk, one.field] = replace(one, before=first.before) if first else one
    return [one for one in net.values() if one.before != one.after]
