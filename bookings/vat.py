"""How what is sold is taxed on a day.

When the tax is owed is another question: `compute/tax_points.py`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from bookings.compute.vat import Treatment, vat_policy_from
from bookings.queries import prices_of
from foraywright.floor.house_time import house_day
from foraywright.floor.models import PolicyVersion
from walks.models import Offering


@dataclass(frozen=True, slots=True)
class Taxed:
    """The rate in basis points, and under which version of the policy; without one, as the price list itself says."""

    basis_points: int
    category: str = ""
    version: PolicyVersion | None = None


def taxed_as(offering: Offering, *, now: datetime) -> Taxed:
    """How places on the offering are taxed when they are sold now. Two queries."""
    version = vat_version_on(house_day(now))
    if version is None:
        return Taxed(prices_of(offering).vat_basis_points)
    found = treatment_of(offering, version)
    return Taxed(found.basis_points, found.category, version)


def treatment_of(offering: Offering, version: PolicyVersion) -> Treatment:
    """How a version of the policy taxes the offering. No query."""
    return vat_policy_from(version.body).of("group" if offering.private else str(offering.kind))


def vat_version_on(day: date) -> PolicyVersion | None:
    """The newest version that holds on `day`; None where none does. One query."""
    return holding(vat_versions(), day)


def vat_versions() -> list[PolicyVersion]:
    """All versions, the newest first. One query."""
    return list(PolicyVersion.objects.filter(kind=PolicyVersion.Kind.VAT).order_by("-number"))


def holding(versions: Iterable[PolicyVersion], day: date) -> PolicyVersion | None:
    """Which of `versions`, the newest first, holds on `day`. No query."""
    return next((one for one in versions if vat_policy_from(one.body).from_day <= day), None)
