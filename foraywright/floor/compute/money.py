"""Money in integer minor units with an ISO 4217 code. Rounding and sharing out happen here and nowhere else."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

SIGNS = {"GBP": "£", "EUR": "€"}
DECIMALS = {
    **dict.fromkeys(("BIF", "CLP", "DJF", "GNF", "ISK", "JPY", "KMF", "KRW", "PYG"), 0),
    **dict.fromkeys(("RWF", "UGX", "UYI", "VND", "VUV", "XAF", "XOF", "XPF"), 0),
    **dict.fromkeys(("BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND"), 3),
    **dict.fromkeys(("CLF", "UYW"), 4),
}
"""Currencies whose minor unit is not a hundredth (ISO 4217: held to a copy of its table in
tests/published/currencies_iso_4217.toml; CLF, UGX and UYW from memory)."""


def decimals(currency: str) -> int:
    """How many decimals the currency has: its minor unit is 10 to the power of minus that many."""
    return DECIMALS.get(currency, 2)


def in_major(minor: int, currency: str) -> Decimal:
    """The amount in whole units, as Decimal("54.00") for (5400, "GBP"), with all of the currency's decimals."""
    return Decimal(minor).scaleb(-decimals(currency))


def in_minor(amount: Decimal, currency: str) -> int:
    """The amount in minor units. Raises ValueError where it has more decimals than the currency."""
    minor = amount.scaleb(decimals(currency))
    if minor != int(minor):
        raise ValueError(f"{currency} has {decimals(currency)} decimals.")
    return int(minor)


def half_up(amount: Fraction) -> int:
    """Round to the nearest whole minor unit, a half away from zero (commercial rounding)."""
    doubled = abs(amount) * 2
    rounded = (doubled.numerator // doubled.denominator + 1) // 2
    return rounded if amount >= 0 else -rounded


def share_out(total: int, weights: Sequence[int]) -> list[int]:
    """Share `total` minor units by `weights`, adding up exactly: largest remainder, the earlier one on a tie.

    Raises ValueError where no weight is positive or one is negative.
    """
    whole = sum(weights)
    if whole <= 0 or min(weights) < 0:
        raise ValueError("Shares need weights of 0 or more, at least one of them above 0.")
    exact = [Fraction(total * weight, whole) for weight in weights]
    shares = [value.numerator // value.denominator for value in exact]
    by_remainder = sorted(range(len(weights)), key=lambda i: (shares[i] - exact[i], i))
    for i in by_remainder[: total - sum(shares)]:
        shares[i] += 1
    return shares


def tax_within(gross: int, rate_basis_points: int) -> int:
    """Return the tax contained in a gross amount at a rate in basis points (2000 = 20 %), half-up."""
    return half_up(Fraction(gross * rate_basis_points, 10_000 + rate_basis_points))


def as_text(minor: int, currency: str) -> str:
    """Return "£54.00" for (5400, "GBP"); a currency without a sign of ours is written "SEK 54.00".

    It has the decimals of the currency: "JPY 5400", "BHD 5.400".
    """
    sign = SIGNS.get(currency, f"{currency} ")
    return f"{'−' if minor < 0 else ''}{sign}{in_major(abs(minor), currency):f}"
