"""The geometry of a season strip: 24 cells, one a half month, as high as the share that each stands for.

Two scales from the same cells: a small strip in a view box of 120 × 13 (`x`, `middle`, `top`, `height`), and a wide one
whose places across are per cent of its width (`left`, `centre`), so that its letters keep their size on a phone.
"""

from collections.abc import Sequence
from dataclasses import dataclass

MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)
SMALL_BASE, SMALL_CELL, SMALL_FULL = 9.0, 5.0, 8.0
BIG_BASE, BIG_CELL, BIG_FULL = 44.0, 100 / 24, 40.0
PEAK = 0.95


@dataclass(frozen=True, slots=True)
class Cell:
    """One half month. `share` 0 to 1; `month` is the initial on the first half of a month, else empty."""

    index: int
    share: float

    @property
    def opacity(self) -> float:
        return round(0.34 + 0.65 * self.share, 2)

    @property
    def x(self) -> float:
        return self.index * SMALL_CELL + 0.4

    @property
    def middle(self) -> float:
        return (self.index + 0.5) * SMALL_CELL

    @property
    def height(self) -> float:
        return round(SMALL_FULL * self.share, 2)

    @property
    def top(self) -> float:
        return round(SMALL_BASE - self.height, 2)

    @property
    def edge(self) -> float:
        return round(self.index * BIG_CELL, 3)

    @property
    def left(self) -> float:
        return round(self.index * BIG_CELL + 0.18, 3)

    @property
    def centre(self) -> float:
        return round((self.index + 0.5) * BIG_CELL, 3)

    @property
    def big_height(self) -> float:
        return round(BIG_FULL * self.share, 1)

    @property
    def big_top(self) -> float:
        return round(BIG_BASE - self.big_height, 1)

    @property
    def month(self) -> str:
        return MONTHS[self.index // 2][0] if self.index % 2 == 0 else ""

    @property
    def month_centre(self) -> float:
        return round((self.index + 1) * BIG_CELL, 3)


def cells(half_months: Sequence[float]) -> list[Cell]:
    """Return the 24 cells of `half_months`. ValueError for another number of them, or a share outside 0 to 1."""
    if len(half_months) != 24 or not all(0 <= share <= 1 for share in half_months):
        raise ValueError("A season strip takes 24 shares between 0 and 1, the first half of January first.")
    return [Cell(index, float(share)) for index, share in enumerate(half_months)]


def in_words(half_months: Sequence[float], mark: int | None = None) -> str:
    """Return what the strip shows, for those who do not see it: "may be met from late October to early February; …"."""
    present = [cell.share > 0 for cell in cells(half_months)]
    words = _stretches(present, "may be met") if any(present) else "no months are recorded"
    peak = [share >= PEAK for share in half_months]
    if any(peak) and peak != present:
        words += f"; {_stretches(peak, 'most likely')}"
    return words if mark is None else f"{words}; the walk is in {half_month_name(mark)}"


def half_month_name(index: int) -> str:
    """Return "late October" for 19: 0 is early January, 23 late December."""
    return f"{'late' if index % 2 else 'early'} {MONTHS[index // 2]}"


def _stretches(flags: Sequence[bool], verb: str) -> str:
    """Stretches of true half months, without a seam at the new year."""
    if all(flags):
        return f"{verb} all year"
    starts = [i for i in range(24) if flags[i] and not flags[i - 1]]
    return f"{verb} {' and '.join(_stretch(flags, start) for start in starts)}"


def _stretch(flags: Sequence[bool], start: int) -> str:
    end = start
    while flags[(end + 1) % 24]:
        end += 1
    if end == start:
        return f"in {half_month_name(start)}"
    return f"from {half_month_name(start)} to {half_month_name(end % 24)}"
