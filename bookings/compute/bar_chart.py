"""The geometry of a chart of bars, in per cent of its width and pixels of its height, so that its letters keep their
size on a phone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

FULL = 120.0
"""Height of the highest bar, in pixels."""

BASE = 140.0
"""Where the bars stand, from the top."""


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar: its left edge, width and middle in per cent; `height` and `outer` (what it is a part of) in pixels."""

    label: str
    words: str
    left: float
    width: float
    height: float
    outer: float

    @property
    def middle(self) -> float:
        return round(self.left + self.width / 2, 3)

    @property
    def top(self) -> float:
        return round(BASE - self.height, 2)

    @property
    def words_at(self) -> float:
        """Where the words above the bar stand."""
        return round(self.outer_top - 6, 2)

    @property
    def outer_top(self) -> float:
        return round(BASE - self.outer, 2)


def bars(rows: Sequence[tuple[str, str, int, int]]) -> list[Bar]:
    """Bars of (label, words, value, whole): each as high as its value, the outline of its whole around it.

    The highest of all values and wholes fills the chart. Nothing where there are no rows.
    """
    most = max((max(value, whole) for _, _, value, whole in rows), default=0) or 1
    step = 100 / max(1, len(rows))
    return [
        Bar(
            label=label,
            words=words,
            left=round(number * step + step * 0.15, 3),
            width=round(step * 0.7, 3),
            height=round(FULL * value / most, 2),
            outer=round(FULL * max(value, whole) / most, 2),
        )
        for number, (label, words, value, whole) in enumerate(rows)
    ]
