"""What the card provider keeps for its work: of one payment, or shared out where it says one sum for many."""

from __future__ import annotations

from datetime import datetime

from bookings.models import CardPayment, Transfer
from bookings.services.ledger import transfer
from foraywright.floor.acts import require_act
from foraywright.floor.compute.money import share_out


def charge_fee(amount_minor: int, currency: str, *, now: datetime) -> None:
    """The step that writes a fee which the provider took off what it holds for us.

    It is the business's cost, so it never stands on a booking's account: what a party paid stays what it paid.
    """
    transfer(
        Transfer.Kind.FEE,
        debit="provider_fees",
        credit="card",
        amount_minor=amount_minor,
        currency=currency,
        booking=None,
        now=now,
    )


def keep_fee(payment: CardPayment, told_minor: int, *, now: datetime) -> None:
    """The step that writes what a notice says is kept of a locked payment; notices in any order count once."""
    require_act()
    new = told_minor - (payment.fee_minor or 0)
    if new >= 0:
        charge_fee(new, payment.currency, now=now)
        payment.fee_minor = told_minor


def share_fee(amount_minor: int, currency: str, *, now: datetime) -> bool:
    """The step that writes one fee for all paid payments whose fee is not known yet, shared by amount (our rule).

    Returns whether there were any; where there were none, nothing is written.
    """
    require_act()
    unknown = CardPayment.objects.select_for_update().filter(fee_minor=None, written_minor__gt=0, currency=currency)
    payments = list(unknown.order_by("pk"))
    if not payments:
        return False
    charge_fee(amount_minor, currency, now=now)
    shares = share_out(amount_minor, [one.written_minor for one in payments])
    for payment, share in zip(payments, shares, strict=True):
        payment.fee_minor = share
        payment.save(update_fields=["fee_minor"])
    return True
