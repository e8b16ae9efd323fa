"""Take back a payout of the card provider that the office noted by mistake, with its fee."""

from __future__ import annotations

from datetime import datetime

from bookings.errors import SAY_WHY, NotRecorded
from bookings.models import CardPayment, CardPayout, Transfer
from bookings.services.card_fees import take_fee_back, unshare_fee
from bookings.services.ledger import transfer
from bookings.services.match_bank_line import reopen_line
from foraywright.floor.acts import By, act, record


@act
def take_payout_back(payout: CardPayout, *, reason: str, by: By, now: datetime) -> None:
    """Turn its transfers round: the money is with the provider again, no fee was charged. Raises NotRecorded.

    A line of the bank's statement that said it waits for a person again. Payments that had a share of the fee are
    without one; a fee that the provider told of since stays. The payout is locked: two people could otherwise take
    it back twice.
    """
    payout = CardPayout.objects.select_for_update().get(pk=payout.pk)
    _refuse(payout, reason)
    fee = unshare_fee(payout) if payout.is_shared else payout.fee_minor
    take_fee_back(fee, payout.currency, now=now)
    transfer(
        Transfer.Kind.MISTAKE,
        debit="card",
        credit="bank" if payout.line_id is None else "unmatched",
        amount_minor=payout.passed_on_minor,
        currency=payout.currency,
        booking=None,
        now=now,
    )
    if payout.line is not None:
        reopen_line(payout.line, by=by, now=now, reason=reason)
    payout.taken_back_at, payout.taken_back_for = now, reason
    payout.save(update_fields=["taken_back_at", "taken_back_for"])
    record("take card payout back", payout, by=by, now=now, fields=("taken_back_at",), said=reason)


def _refuse(payout: CardPayout, reason: str) -> None:
    if payout.taken_back_at is not None:
        raise NotRecorded("Nothing was changed.", why=["This payout was taken back already."])
    if not reason:
        raise NotRecorded("Nothing was changed.", why=[SAY_WHY])
    if payout.is_shared and not CardPayment.objects.filter(fee_payout=payout).exists():
        raise NotRecorded(
            "Nothing was changed.",
            why=["No payment has a share of its fee: the provider told since what each cost, or it is an old payout."],
            became="The ledger stays as it was.",
        )
