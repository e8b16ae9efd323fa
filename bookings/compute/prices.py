"""What a party pays, from a versioned price list: age bands, concessions, a discount, a deposit and the rest."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from typing import Any

from foraywright.floor.compute.money import half_up, share_out


@dataclass(frozen=True, slots=True)
class Concession:
    """A lower price for some people of an age band: what they are called, and what they show on the day."""

    key: str
    label: str
    show: str
    band: str
    price: int


@dataclass(frozen=True, slots=True)
class Deposit:
    """`percent` of the price is due first, the rest `rest_days` days before the first walk."""

    percent: int
    rest_days: int


@dataclass(frozen=True, slots=True)
class PriceList:
    """Gross prices in minor units of `currency` by age band; `vat_basis_points` is the rate contained in
    them where no policy on the tax holds."""

    currency: str
    vat_basis_points: int
    by_band: Mapping[str, int]
    concessions: tuple[Concession, ...] = ()
    deposit: Deposit | None = None

    def price(self, band: str, concession: str = "") -> int:
        """The gross price of one person of the band, by the concession where the list has it for that band.

        KeyError for a band that the list does not know.
        """
        found = self.concession(concession)
        return found.price if found is not None and found.band == band else self.by_band[band]

    def concession(self, key: str) -> Concession | None:
        """The concession with this key, or None where the list has none such; who has none has the empty key."""
        return next((one for one in self.concessions if key and one.key == key), None)


def price_list_from(body: Mapping[str, Any]) -> PriceList:
    """Read a price policy: {"currency": "GBP", "by_band": {"adult": 1800, …}}, and where there are such,
    "vat_basis_points", "concessions": [{"key", "label", "show", "band", "price"}], "deposit": {"percent", "rest_days"}.

    Raises ValueError where a price is negative or no whole number, a concession is dearer than its band's price, or a
    deposit is not 1 to 99 per cent.
    """
    by_band = dict(body["by_band"])
    concessions = tuple(Concession(**one) for one in body.get("concessions", ()))
    for label, price in [*by_band.items(), *((one.label, one.price) for one in concessions)]:
        if not isinstance(price, int) or price < 0:
            raise ValueError(
                f"The price for {label!r} is {price!r}; a price is a whole number of minor units, 0 or more."
            )
    for one in concessions:
        if one.price > by_band[one.band]:
            raise ValueError(f"The concession {one.label!r} costs more than the price that it is a concession on.")
    return PriceList(body["currency"], int(body.get("vat_basis_points", 0)), by_band, concessions, _deposit_from(body))


def _deposit_from(body: Mapping[str, Any]) -> Deposit | None:
    if "deposit" not in body:
        return None
    deposit = Deposit(**body["deposit"])
    if not 0 < deposit.percent < 100 or deposit.rest_days < 0:
        raise ValueError("A deposit is 1 to 99 per cent, and the rest is due 0 or more days before.")
    return deposit


@dataclass(frozen=True, slots=True)
class Discount:
    """So many per cent off a party's price, or a fixed amount in minor units; the other one is 0."""

    percent: int = 0
    amount: int = 0

    def off(self, total: int) -> int:
        """What comes off `total`: half-up, and never more than all of it."""
        return min(total, self.amount) if self.amount else half_up(Fraction(total * self.percent, 100))


NO_DISCOUNT = Discount()


def discount_shares(prices: Sequence[int], discount: Discount) -> list[int]:
    """What comes off each of `prices`: the discount on their sum, shared by largest remainder."""
    return share_out(discount.off(sum(prices)), prices) if sum(prices) else [0] * len(prices)


@dataclass(frozen=True, slots=True)
class Quote:
    """What a party would pay: its price, what comes off, and the tax contained in the rest, in minor units.

    `voucher`: what of it a voucher would pay. `deposit`: what is due first, and the day by which the rest is; None
    where all is due at once.
    """

    price: int
    discount: int
    vat: int
    deposit: tuple[int, date] | None = None
    voucher: int = 0

    @property
    def to_pay(self) -> int:
        return self.price - self.discount

    @property
    def after_voucher(self) -> int:
        """What is left to pay in money."""
        return self.to_pay - self.voucher

    @property
    def deposit_after_voucher(self) -> int:
        """What of the deposit a voucher does not pay."""
        return max(0, self.deposit[0] - self.voucher) if self.deposit else 0


def deposit_due(price: int, deposit: Deposit | None, *, today: date, walk_day: date) -> tuple[int, date] | None:
    """What is to be paid first of `price` (half-up), and the day by which the rest is due.

    None where all of it is due at once: there is no deposit, or the rest would be due today or before.
    """
    if deposit is None:
        return None
    rest_by = walk_day - timedelta(days=deposit.rest_days)
    first = half_up(Fraction(price * deposit.percent, 100))
    return (first, rest_by) if rest_by > today and 0 < first < price else None


def total(prices: PriceList, bands: Iterable[str]) -> int:
    """Gross total of a party, in minor units."""
    return sum(prices.price(band) for band in bands)
