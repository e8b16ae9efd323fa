"""What of a sold booking is to be paid first, and what later."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class Dues:
    """Minor units: `first` is due by `by` (None: where we meet), `later` by `rest_by`. `is_deposit`: `first` is one."""

    first: int
    by: date | None
    later: int = 0
    rest_by: date | None = None

    @property
    def is_deposit(self) -> bool:
        return self.later > 0


def dues(owed: int, paid: int, *, pay_by: date | None, deposit: tuple[int, date] | None) -> Dues:
    """Split `owed` into what is due first and what later.

    `deposit`: its amount and the day by which the rest is due; None where all is due at once. A deposit is never due
    after the rest (our rule): with both days ahead, the earlier one holds.
    """
    if deposit is None or pay_by is None or owed <= 0:
        return Dues(max(0, owed), pay_by)
    amount, rest_by = deposit
    first = min(owed, amount - paid)
    if first <= 0:
        return Dues(owed, rest_by)
    later = owed - first
    return Dues(first, min(pay_by, rest_by), later, rest_by if later else None)
