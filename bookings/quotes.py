"""What a party would pay, before it books."""

from __future__ import annotations

from datetime import date, datetime

from bookings.compute.prices import NO_DISCOUNT, Deposit, Quote, deposit_due, discount_shares
from bookings.discounts import discount_by, usable_code
from bookings.queries import prices_of
from bookings.vat import taxed_as
from foraywright.floor.compute.money import tax_within
from walks.models import Offering, Walk


def quote_of(
    offering: Offering, bands: tuple[str, ...], concessions: tuple[str, ...], code: str, *, now: datetime
) -> Quote:
    """The price of a party of these bands and concessions with the discount code. Raises NotBooked for such a code."""
    prices = prices_of(offering)
    discount = discount_by(usable_code(code, offering, now=now)) if code else NO_DISCOUNT
    full = [prices.price(band, concession) for band, concession in zip(bands, concessions, strict=True)]
    offs = discount_shares(full, discount)
    rate = taxed_as(offering, now=now).basis_points
    vat = sum(tax_within(price - off, rate) for price, off in zip(full, offs, strict=True))
    first = offering.walks.earliest("starts_at")
    return Quote(sum(full), sum(offs), vat, first_part(sum(full) - sum(offs), prices.deposit, first, now=now))


def first_part(price: int, deposit: Deposit | None, first: Walk, *, now: datetime) -> tuple[int, date] | None:
    """The deposit on `price` and the day by which the rest is due, on the calendar of the first walk's site."""
    today = now.astimezone(first.clock).date()
    return deposit_due(price, deposit, today=today, walk_day=first.local_date)
