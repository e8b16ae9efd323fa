"""The one step that writes the ledger, and two that say it in fewer words."""

from __future__ import annotations

from datetime import datetime

from bookings.models import Booking, LedgerAccount, Transfer, Voucher
from bookings.queries import currency_of
from foraywright.floor.acts import require_act


def transfer(
    kind: str,
    *,
    debit: str,
    credit: str,
    amount_minor: int,
    currency: str,
    booking: Booking | None,
    voucher: Voucher | None = None,
    rate: int | None = None,
    now: datetime,
) -> None:
    """Move `amount_minor` from the account `credit` to the account `debit`; nothing is written for an amount of 0.

    `voucher`: the one that the money is on, or was. `rate`: of tax, its rate in basis points.
    """
    require_act()
    if amount_minor == 0:
        return
    accounts = {one.key: one for one in LedgerAccount.objects.filter(key__in=(debit, credit))}
    Transfer.objects.create(
        at=now,
        kind=kind,
        debit=accounts[debit],
        credit=accounts[credit],
        amount_minor=amount_minor,
        currency=currency,
        booking=booking,
        voucher=voucher,
        vat_basis_points=rate,
    )


def move(
    kind: str,
    debit: str,
    credit: str,
    amount_minor: int,
    of: Booking | Voucher,
    *,
    rate: int | None = None,
    now: datetime,
) -> None:
    """The step that writes one transfer of a booking or a voucher, in its currency; none of nothing."""
    booking, voucher = (of, None) if isinstance(of, Booking) else (None, of)
    transfer(
        kind,
        debit=debit,
        credit=credit,
        amount_minor=amount_minor,
        currency=currency_of(of) if isinstance(of, Booking) else of.currency,
        booking=booking,
        voucher=voucher,
        rate=rate,
        now=now,
    )


def there_or_back(
    kind: str,
    debit: str,
    credit: str,
    amount_minor: int,
    of: Booking | Voucher,
    *,
    rate: int | None = None,
    now: datetime,
) -> None:
    """The same, and for an amount below 0 as much the other way: it keeps an account at a sum that may have fallen."""
    if amount_minor < 0:
        debit, credit = credit, debit
    move(kind, debit, credit, abs(amount_minor), of, rate=rate, now=now)
