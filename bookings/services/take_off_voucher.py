"""The steps that keep a voucher, and the tax on it, at what was paid for it and not taken back."""

from __future__ import annotations

from datetime import datetime

from bookings.models import Chargeback, Transfer, Voucher
from bookings.services.ledger import there_or_back
from bookings.vouchers import left_on, paid_for_voucher, taken_off, voucher_tax
from foraywright.floor.acts import require_act
from foraywright.floor.compute.money import tax_within


def take_off_voucher(voucher: Voucher, *, now: datetime) -> None:
    """The step that takes off a locked voucher what card holders took back of its price, as far as it reaches, and
    gives it back where that was a mistake or was decided for us.

    What it does not reach was spent, and is our loss until a refund comes back to the voucher.
    """
    require_act()
    back = voucher.chargebacks.filter(state=Chargeback.State.TAKEN_OFF).values_list("amount_minor", flat=True)
    off = min(sum(back) - taken_off(voucher), left_on(voucher))
    there_or_back(Transfer.Kind.CHARGEBACK, "vouchers_out", "bad_debts", off, voucher, now=now)
    keep_voucher_tax(voucher, now=now)


def keep_voucher_tax(voucher: Voucher, *, now: datetime) -> None:
    """The step that keeps the tax of a single-purpose voucher, owed from its issue on, at that in what was paid."""
    require_act()
    if voucher.vat_basis_points is not None:
        owed = tax_within(paid_for_voucher(voucher), voucher.vat_basis_points)
        owe_tax(voucher, owed - voucher_tax(voucher), now=now)


def owe_tax(voucher: Voucher, tax_minor: int, *, now: datetime) -> None:
    """The step that writes so much more tax on a voucher as owed; less where it is below 0."""
    rate = voucher.vat_basis_points
    there_or_back(Transfer.Kind.TAX, "voucher_tax", "vat", tax_minor, voucher, rate=rate, now=now)
