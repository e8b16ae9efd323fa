"""What a party pays, from a versioned price list."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class PriceList:
    """Gross prices in minor units of `currency` by age band; `vat_basis_points` is the rate contained in them."""

    currency: str
    vat_basis_points: int
    by_band: Mapping[str, int]

    def price(self, band: str) -> int:
        """The gross price of one person of the band. KeyError for a band that the list does not know."""
        return self.by_band[band]


def price_list_from(body: Mapping[str, Any]) -> PriceList:
    """Read a price policy: {"currency": "GBP", "vat_basis_points": 2000, "by_band": {"adult": 1800, …}}.

    Raises ValueError where a price is negative or no whole number.
    """
    by_band = dict(body["by_band"])
    for band, price in by_band.items():
        if not isinstance(price, int) or price < 0:
            raise ValueError(
                f"The price for {band!r} is {price!r}; a price is a whole number of minor units, 0 or more."
            )
    return PriceList(body["currency"], int(body["vat_basis_points"]), by_band)


def total(prices: PriceList, bands: Iterable[str]) -> int:
    """Gross total of a party, in minor units."""
    return sum(prices.price(band) for band in bands)
