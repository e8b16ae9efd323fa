"""What the card provider keeps for its work: of one payment, or shared out where it says one sum for many."""

from __future__ import annotations

from datetime import datetime

from bookings.models import CardPayment, CardPayout, Transfer
from bookings.services.ledger import transfer
from foraywright.floor.acts import require_act
from foraywright.floor.compute.money import share_out


def charge_fee(amount_minor: int, currency: str, *, out_of: str = "card", now: datetime) -> None:
    """The step that writes a fee which the provider took off what it holds for us, or `out_of` another account.

    It is the business's cost, so it never stands on a booking's account: what a party paid stays what it paid.
    """
    transfer(
        Transfer.Kind.FEE,
        debit="provider_fees",
        credit=out_of,
        amount_minor=amount_minor,
        currency=currency,
        booking=None,
        now=now,
    )


def take_fee_back(amount_minor: int, currency: str, *, into: str = "card", now: datetime) -> None:
    """The step that turns a fee round which the office noted by mistake, back `into` the account it was taken off."""
    transfer(
        Transfer.Kind.MISTAKE,
        debit=into,
        credit="provider_fees",
        amount_minor=amount_minor,
        currency=currency,
        booking=None,
        now=now,
    )


def keep_fee(payment: CardPayment, told_minor: int, *, now: datetime) -> None:
    """The step that writes what a notice says is kept of a locked payment; notices in any order count once.

    The provider's word replaces a share of a payout's fee: taking that payout back leaves it alone.
    """
    require_act()
    new = told_minor - (payment.fee_minor or 0)
    if new >= 0:
        charge_fee(new, payment.currency, now=now)
        payment.fee_minor, payment.fee_payout = told_minor, None


def lock_without_fee(currency: str) -> list[CardPayment]:
    """The step that locks all paid payments whose fee is not known yet."""
    require_act()
    unknown = CardPayment.objects.select_for_update().filter(fee_minor=None, written_minor__gt=0, currency=currency)
    return list(unknown.order_by("pk"))


def share_fee(payout: CardPayout, payments: list[CardPayment]) -> None:
    """The step that shares the payout's fee among the locked payments, by amount (our rule)."""
    require_act()
    shares = share_out(payout.fee_minor, [one.written_minor for one in payments])
    for payment, share in zip(payments, shares, strict=True):
        payment.fee_minor, payment.fee_payout = share, payout
        payment.save(update_fields=["fee_minor", "fee_payout"])


def unshare_fee(payout: CardPayout) -> int:
    """The step by which payments lose the share that they have of the payout's fee; returns how much that was."""
    require_act()
    payments = list(CardPayment.objects.select_for_update().filter(fee_payout=payout).order_by("pk"))
    shares = sum(one.fee_minor or 0 for one in payments)
    for payment in payments:
        payment.fee_minor = payment.fee_payout = None
        payment.save(update_fields=["fee_minor", "fee_payout"])
    return shares
