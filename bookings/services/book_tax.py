"""The step that keeps the tax in the ledger at what is owed by now, wherever payments, papers or prices change."""

from __future__ import annotations

from datetime import datetime

from bookings.models import Booking, Transfer
from bookings.queries import credited
from bookings.services.ledger import there_or_back
from bookings.tax_points import Owed, owed_of, standing_vat
from foraywright.floor.acts import require_act


def book_tax(booking: Booking, *, now: datetime, kind: str = Transfer.Kind.TAX) -> Owed:
    """Move the difference between what the locked booking owes and what stands there; returns what it owes.

    Tax comes out of what is sold and not yet held, and goes back there. Income that stands above what is earned (an end
    under way may round a penny otherwise) goes back too; more income is taken by the worker only.
    """
    require_act()
    owed = owed_of(booking)
    standing = standing_vat(booking)
    for rate in standing.keys() | owed.vat.keys():
        to_account(booking, "vat", owed.vat.get(rate or 0, 0) - standing.get(rate, 0), kind, rate=rate, now=now)
    to_account(booking, "voucher_tax", owed.voucher_tax - credited(booking, "voucher_tax"), kind, now=now)
    to_account(booking, "income", min(0, owed.earned.income_minor - credited(booking, "income")), kind, now=now)
    return owed


def to_account(
    booking: Booking, account: str, minor: int, kind: str, *, rate: int | None = None, now: datetime
) -> None:
    """The step that moves `minor` from what is sold and not yet held to `account`; back again where it is below 0."""
    there_or_back(kind, "deferred_income", account, minor, booking, rate=rate, now=now)
