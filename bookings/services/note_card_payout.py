"""Note by hand what the card provider passed on and what it charged."""

from __future__ import annotations

from datetime import datetime

from bookings.errors import NotRecorded
from bookings.models import BankLine, CardPayout, Transfer
from bookings.services.card_fees import charge_fee, lock_without_fee, share_fee
from bookings.services.ledger import transfer
from foraywright.floor.acts import By, act, record, require_act
from foraywright.floor.models import Business


@act
def note_card_payout(
    *, passed_on_minor: int, fee_minor: int, shared: bool, reason: str, key: str, by: By, now: datetime
) -> CardPayout:
    """Write that `passed_on_minor` went to the bank and `fee_minor` was kept; the same key again returns the payout.

    `shared`: the fee is that of the payments passed on, not of the account as a whole. Where the bank's statements are
    taken in, the line of the statement says what was passed on. Raises NotRecorded.
    """
    before = CardPayout.objects.filter(key=key).first()
    if before is not None:
        return before
    if min(passed_on_minor, fee_minor) < 0 or not passed_on_minor + fee_minor:
        raise NotRecorded("Nothing was noted.", why=["Write what was passed on, or what was charged, or both."])
    transfer(
        Transfer.Kind.PAYOUT,
        debit="bank",
        credit="card",
        amount_minor=passed_on_minor,
        currency=Business.objects.values_list("currency", flat=True).get(),
        booking=None,
        now=now,
    )
    return keep_payout(passed_on_minor, fee_minor, shared=shared, reason=reason, key=key, by=by, now=now)


def keep_payout(
    passed_on_minor: int,
    fee_minor: int,
    *,
    shared: bool,
    reason: str,
    key: str,
    line: BankLine | None = None,
    by: By,
    now: datetime,
) -> CardPayout:
    """The step that keeps a payout, whose own transfer is written, and writes its fee."""
    require_act()
    currency = Business.objects.values_list("currency", flat=True).get()
    sharing = lock_without_fee(currency) if fee_minor and shared else []
    charge_fee(fee_minor, currency, now=now)
    payout = CardPayout.objects.create(
        key=key,
        line=line,
        passed_on_minor=passed_on_minor,
        fee_minor=fee_minor,
        is_shared=bool(sharing),
        currency=currency,
        noted_at=now,
        reason=reason,
    )
    if sharing:
        share_fee(payout, sharing)
    record("note card payout", payout, by=by, now=now, said=reason)
    return payout
