"""Value added tax as a policy: whether the business is registered, and how each kind of what it sells is taxed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Any

FULL = 10_000
"""Basis points of a whole."""


class Category(StrEnum):
    """How a supply is taxed. The first four are the categories of the UK Value Added Tax Act 1994, Schedule 10B,
    paragraph 4(2) (read on 2026-11-25), which counts `exempt` and `outside` as one; `unregistered` is who charges none.
    """

    STANDARD = "standard"
    REDUCED = "reduced"
    ZERO = "zero"
    EXEMPT = "exempt"
    OUTSIDE = "outside"
    UNREGISTERED = "unregistered"

    @property
    def is_taxed(self) -> bool:
        """Whether the category has a rate above 0."""
        return self in (Category.STANDARD, Category.REDUCED)


WORDS = {
    Category.STANDARD: "standard rate",
    Category.REDUCED: "reduced rate",
    Category.ZERO: "zero-rated",
    Category.EXEMPT: "exempt",
    Category.OUTSIDE: "outside the scope of the tax",
    Category.UNREGISTERED: "not registered: no tax is charged",
}
SUPPLIES = {"walk": "Walks", "course": "Courses", "group": "Walks for a group, by a quote"}
"""What is sold. What is tasted on a walk is part of the walk; a voucher is taxed as what it buys."""


@dataclass(frozen=True, slots=True)
class Treatment:
    """A category and its rate in basis points (2000 = 20 %): 0 in every category but standard and reduced."""

    category: Category
    basis_points: int


UNREGISTERED = Treatment(Category.UNREGISTERED, 0)


@dataclass(frozen=True, slots=True)
class VatPolicy:
    """One version of the policy, holding from `from_day` on, that day included."""

    registered: bool
    from_day: date
    supplies: Mapping[str, Treatment]

    def of(self, supply: str) -> Treatment:
        """How `supply`, a key of SUPPLIES, is taxed. KeyError for another."""
        return self.supplies[supply] if self.registered else UNREGISTERED


def vat_policy_from(body: Mapping[str, Any]) -> VatPolicy:
    """Read {"registered": true, "from_day": "2026-04-01", "supplies": {"walk": {"category", "basis_points"}, …}}.

    Raises ValueError where a kind of supply is missing or a rate does not go with its category.
    """
    supplies = {key: Treatment(Category(one["category"]), one["basis_points"]) for key, one in body["supplies"].items()}
    if set(supplies) != set(SUPPLIES):
        raise ValueError(f"The policy must say how each of {', '.join(SUPPLIES)} is taxed.")
    for one in supplies.values():
        if one.category.is_taxed != (0 < one.basis_points <= FULL):
            raise ValueError(f"The rate {one.basis_points / 100:g} % does not go with “{WORDS[one.category]}”.")
    return VatPolicy(bool(body["registered"]), date.fromisoformat(body["from_day"]), supplies)
