"""What stands on invoices, credit notes and receipts, and the value added tax in it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from foraywright.floor.compute.money import tax_within


@dataclass(frozen=True, slots=True)
class Charged:
    """One thing that is charged, credited or received: gross minor units, VAT rate in basis points (2000 = 20 %).

    `key` names what it is for, so that nothing is invoiced twice.
    """

    key: str
    label: str
    gross_minor: int
    basis_points: int


@dataclass(frozen=True, slots=True)
class Rate:
    """The sum at one VAT rate, minor units: gross = net + vat."""

    basis_points: int
    gross_minor: int
    vat_minor: int

    @property
    def net_minor(self) -> int:
        return self.gross_minor - self.vat_minor


@dataclass(frozen=True, slots=True)
class Row:
    """Equal things in one row: so many of `label` at `each` minor units, VAT contained."""

    label: str
    count: int
    each: int
    basis_points: int

    @property
    def gross_minor(self) -> int:
        return self.count * self.each


def not_invoiced(due: Sequence[Charged], invoiced: Mapping[str, int]) -> list[Charged]:
    """Of what is `due`, what was not invoiced yet; `invoiced` = minor units by key, credit notes taken off."""
    return [_rest(one, part) for one in due if (part := one.gross_minor - invoiced.get(one.key, 0)) > 0]


def to_credit(due: Sequence[Charged], invoiced: Mapping[str, int]) -> list[Charged]:
    """What was invoiced beyond what is `due`, as positive amounts."""
    return [_rest(one, part) for one in due if (part := invoiced.get(one.key, 0) - one.gross_minor) > 0]


def _rest(one: Charged, gross_minor: int) -> Charged:
    return Charged(one.key, one.label, gross_minor, one.basis_points)


def rates_of(lines: Iterable[Charged]) -> list[Rate]:
    """The sums by VAT rate, the highest rate first. The tax is that of each line, as it was frozen at the sale.

    VAT of a line = gross · r / (1 + r), half-up, for prices that contain it.
    """
    sums: dict[int, Rate] = {}
    for one in lines:
        before = sums.get(one.basis_points, Rate(one.basis_points, 0, 0))
        vat = before.vat_minor + tax_within(one.gross_minor, one.basis_points)
        sums[one.basis_points] = Rate(one.basis_points, before.gross_minor + one.gross_minor, vat)
    return [rate for _, rate in sorted(sums.items(), reverse=True)]


def rows_of(lines: Iterable[Charged]) -> list[Row]:
    """The lines as they are printed: equal ones counted, in the order in which they are met."""
    counted: dict[tuple[str, int, int], int] = {}
    for one in lines:
        same = (one.label, one.gross_minor, one.basis_points)
        counted[same] = counted.get(same, 0) + 1
    return [Row(label, count, each, rate) for (label, each, rate), count in counted.items()]


def as_data(lines: Iterable[Charged]) -> list[dict[str, Any]]:
    """The lines as they are kept."""
    return [asdict(one) for one in lines]


def from_data(kept: Iterable[Mapping[str, Any]]) -> list[Charged]:
    """The kept lines read again."""
    return [Charged(**one) for one in kept]
