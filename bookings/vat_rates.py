"""Rates of value added tax by jurisdiction and day: data, with its source."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from bookings.law_files import law_in


@dataclass(frozen=True, slots=True)
class VatRate:
    """A rate in basis points, what it is called, and where it stands."""

    name: str
    basis_points: int
    source: str


def vat_rates(jurisdiction: str, day: date) -> tuple[VatRate, ...]:
    """The rates in force in `jurisdiction` ("GB-ENG") on `day`; empty where we hold none."""
    found = law_in("vat_rates.toml", jurisdiction)
    if found is None:
        return ()
    _, law = found
    in_force = (one for one in law["rates"] if one["first_day"] <= day <= one.get("last_day", date.max))
    return tuple(VatRate(one["name"], one["basis_points"], law["source"]) for one in in_force)


def rates_in_words(rates: Iterable[VatRate]) -> str:
    """As a form says them, in per cent: 20 (standard), 5 (reduced)."""
    return ", ".join(f"{one.basis_points / 100:g} ({one.name})" for one in rates)
