"""When the tax in a booking's price becomes owed.

The tax point of a supply is its performance, or before it a payment or an invoice as far as that reaches: UK Value
Added Tax Act 1994 s. 6(4) ("to the extent covered by the invoice or payment", quoted in HMRC manual VATTOS2225);
Directive 2006/112/EC art. 65 (a payment on account: "on receipt of the payment and on the amount received", quoted in
VATTOS2440); both read on 2026-11-26. Where a Member State goes by payments alone (art. 66 leaves it the choice, from
memory) an invoice makes the tax owed too early here, never too late. What is kept when somebody cancels stays taxed
(HMRC Brief 13/2018, from commentaries read on 2026-11-26) and is owed at once, paid or not (our rule). The 14 days of
s. 6(5) are not used.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from foraywright.floor.compute.money import half_up, tax_within


@dataclass(frozen=True, slots=True)
class Taxable:
    """One line of a booking, gross minor units: what is due, and what of it was invoiced and performed (or kept).

    `basis_points`: the rate frozen at the sale, 2000 = 20 %.
    """

    due_minor: int
    invoiced_minor: int
    performed_minor: int
    basis_points: int

    @property
    def covered_minor(self) -> int:
        """What has its tax point whether it was paid or not."""
        return min(self.due_minor, max(self.invoiced_minor, self.performed_minor))


def chargeable(lines: Sequence[Taxable], received_minor: int) -> dict[int, int]:
    """The tax that has become owed, minor units by rate, after `received_minor` came towards what is due.

    Money pays first for what is covered already; what is beyond it is a payment on account of all the rest alike. Of
    each rate V = Σ tax of the covered + half-up((Σ tax of the due − Σ tax of the covered) · beyond / rest): never below
    0, never above the tax of the lines, never less when more was received, all of it when all is paid. (Shares by
    largest remainder would add up as well, but one of them may fall when the sum rises.)
    """
    rest = sum(one.due_minor - one.covered_minor for one in lines)
    beyond = max(0, received_minor - sum(one.covered_minor for one in lines))
    part = Fraction(min(beyond, rest), rest) if rest else Fraction(0)
    return {rate: _of_rate([one for one in lines if one.basis_points == rate], part) for rate in _rates(lines)}


def _rates(lines: Iterable[Taxable]) -> list[int]:
    return sorted({one.basis_points for one in lines if one.basis_points}, reverse=True)


def _of_rate(lines: Iterable[Taxable], part: Fraction) -> int:
    taxes = [(tax_within(one.due_minor, one.basis_points), _covered_tax(one)) for one in lines]
    covered = sum(tax for _, tax in taxes)
    return covered + half_up((sum(tax for tax, _ in taxes) - covered) * part)


def _covered_tax(one: Taxable) -> int:
    return tax_within(one.covered_minor, one.basis_points)


def voucher_part(amount_minor: int, basis_points: int, *, whole: bool) -> int:
    """The tax, owed since a single-purpose voucher was sold, in the `amount_minor` that it paid.

    Rounded down unless it paid with all that it was worth: its parts never hold more than was owed of it.
    """
    exact = Fraction(amount_minor * basis_points, 10_000 + basis_points)
    return half_up(exact) if whole else int(exact)


def without_vouchers(owed: Mapping[int, int], paid: Iterable[tuple[int, int]]) -> dict[int, int]:
    """What of the tax `owed` by rate was not owed before: `paid` = rates and tax of single-purpose vouchers.

    Tax of a voucher comes off its own rate first, then off the others from the highest on.
    """
    left = dict(owed)
    for rate, tax in paid:
        for at in sorted(left, key=lambda one: (one != rate, -one)):
            taken = min(left[at], tax)
            left[at], tax = left[at] - taken, tax - taken
    return left
