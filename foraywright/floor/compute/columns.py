"""Lists broken into columns of about one length: balanced columns take the PDF engine most of its time."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeVar

T = TypeVar("T")


def in_columns(items: Sequence[T], number: int) -> list[list[T]]:
    """Return `items` in order in at most `number` columns, none much longer than the others by its letters.

    An item costs its letters and a little more for the line that it begins. Columns that would be empty are left out.
    """
    costs = [len(str(item)) + 20 for item in items]
    whole, so_far = sum(costs), 0.0
    found: list[list[T]] = [[] for _ in range(number)]
    for item, cost in zip(items, costs, strict=True):
        found[min(int((so_far + cost / 2) * number / whole), number - 1)].append(item)
        so_far += cost
    return [column for column in found if column]
