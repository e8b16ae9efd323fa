"""Rates of value added tax by jurisdiction and day: data, with its source."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

FILE = Path(__file__).parent / "policies" / "vat_rates.toml"


@dataclass(frozen=True, slots=True)
class VatRate:
    """A rate in basis points, what it is called, and where it stands."""

    name: str
    basis_points: int
    source: str


def vat_rates(jurisdiction: str, day: date) -> tuple[VatRate, ...]:
    """The rates in force in `jurisdiction` ("GB-ENG") on `day`; empty where we hold none."""
    laws = (law for law in _all() if jurisdiction in law["jurisdictions"])
    return tuple(VatRate(one["name"], one["basis_points"], law["source"]) for law in laws for one in _on(law, day))


def _on(law: dict[str, Any], day: date) -> Iterator[dict[str, Any]]:
    return (one for one in law["rates"] if one["first_day"] <= day <= one.get("last_day", date.max))


@cache
def _all() -> tuple[dict[str, Any], ...]:
    return tuple(tomllib.loads(FILE.read_text(encoding="utf-8")).values())
