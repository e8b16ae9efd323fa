"""The one step that writes the ledger."""

from __future__ import annotations

from datetime import datetime

from bookings.models import Booking, LedgerAccount, Transfer, Voucher
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
