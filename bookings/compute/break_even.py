"""How many paying people cover what a walk costs."""

from __future__ import annotations

from fractions import Fraction
from math import ceil

FULL = 10_000
"""Basis points of a whole."""


def without_vat(gross_minor: int, vat_basis_points: int) -> Fraction:
    """What is left of a gross amount without the VAT contained in it, in minor units, not rounded."""
    return Fraction(gross_minor * FULL, FULL + vat_basis_points)


def break_even(fixed_minor: int, price: Fraction, each_minor: int) -> int | None:
    """The fewest people whose prices cover the costs; None where no number does.

    Fixed costs divided by the contribution of one person (price without VAT less what each costs), rounded up: the
    break-even point in units of every textbook of cost accounting. `price` and `each_minor` in minor units a person.
    """
    contribution = price - each_minor
    if fixed_minor <= 0:
        return 0
    return ceil(fixed_minor / contribution) if contribution > 0 else None
