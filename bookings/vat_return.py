"""Output tax between two days, as the ledger has it: by rate, and by the day of its tax point."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta, tzinfo
from typing import Any

from bookings.models import Transfer
from bookings.queries import PROMISED, standing_to
from bookings.tax_points import ON_VAT, only_rate
from foraywright.floor.house_time import house_clock

OF_WALK = "walk held, or kept"
OF_VOUCHER = "voucher sold"
OF_MONEY = "money came, or an invoice went out"
TAKEN_BACK = "promised back, credited, or taxed with a voucher"


@dataclass(frozen=True, slots=True)
class TaxPoint:
    """One movement of the tax owed, minor units, below 0 where it is owed no more, on a day by the business's clock.

    `basis_points`: 2000 = 20 %; None where it was booked before rates were noted and the booking has several.
    """

    day: date
    basis_points: int | None
    why: str
    booking: str
    currency: str
    tax_minor: int


def tax_points(first: date, last: date) -> list[TaxPoint]:
    """Every movement of the tax owed from `first` to `last`, both included, in order. Three queries."""
    zone = house_clock()
    begin, end = (datetime.combine(day, time(), zone) for day in (first, last + timedelta(days=1)))
    moves = Transfer.objects.filter(ON_VAT, at__gte=begin, at__lt=end).order_by("at", "pk")
    moves = moves.select_related("credit", "voucher", "booking").prefetch_related("booking__lines")
    return [_point(one, zone) for one in moves]


def _point(move: Transfer, zone: tzinfo) -> TaxPoint:
    sign = 1 if move.credit.key == "vat" else -1
    code = move.booking.code if move.booking is not None else ""
    day = move.at.astimezone(zone).date()
    return TaxPoint(day, _rate(move), _why(move, sign), code, move.currency, sign * move.amount_minor)


def _rate(move: Transfer) -> int | None:
    if move.vat_basis_points is not None:
        return move.vat_basis_points
    if move.voucher is not None:
        return move.voucher.vat_basis_points
    return only_rate(move.booking.lines.all()) if move.booking is not None else None


def _why(move: Transfer, sign: int) -> str:
    if move.voucher_id is not None:
        return OF_VOUCHER
    if move.kind == Transfer.Kind.EARNED:
        return OF_WALK
    return OF_MONEY if sign > 0 else TAKEN_BACK


@dataclass(frozen=True, slots=True)
class TaxSum:
    """The tax of several movements that are alike in `key`, minor units."""

    key: tuple[Any, ...]
    tax_minor: int


def by_rate(points: Iterable[TaxPoint]) -> list[TaxSum]:
    """Summed by rate, the highest first; those without one last."""
    return sorted(_summed(points, lambda one: (one.basis_points,)), key=lambda one: -(one.key[0] or -1))


def by_day(points: Iterable[TaxPoint]) -> list[TaxSum]:
    """Summed by day, rate and reason, in the order in which they first come."""
    return _summed(points, lambda one: (one.day, one.basis_points, one.why))


def _summed(points: Iterable[TaxPoint], key: Callable[[TaxPoint], tuple[Any, ...]]) -> list[TaxSum]:
    sums: dict[tuple[Any, ...], int] = {}
    for one in points:
        sums[key(one)] = sums.get(key(one), 0) + one.tax_minor
    return [TaxSum(found, tax) for found, tax in sums.items()]


def promised_back() -> int:
    """Minor units that are promised back by now and not paid out. Two queries."""
    return sum(amount for account in PROMISED for _, _, amount in standing_to(account))


def in_percent(basis_points: int | None) -> str:
    """ "20 %"; in words where no rate was noted."""
    return "rate not noted" if basis_points is None else f"{basis_points / 100:g} %"


def total(points: Sequence[TaxPoint]) -> int:
    """The tax of all of them."""
    return sum(one.tax_minor for one in points)
