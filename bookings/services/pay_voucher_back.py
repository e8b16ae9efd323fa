"""Note that what is left on a voucher was paid back to whoever bought it."""

from __future__ import annotations

from datetime import datetime

from bookings.errors import NotPaidOut
from bookings.models import Transfer, Voucher
from bookings.queries import TAKE_MONEY
from bookings.services.ledger import move
from bookings.services.locks import lock_paid_for
from bookings.services.take_off_voucher import keep_voucher_tax
from bookings.vouchers import is_disputed, left_on
from foraywright.floor.acts import By, act, record
from foraywright.floor.refusals import SeenOtherwise, as_seen


@act
def pay_voucher_back(voucher: Voucher, *, out_of: str, reason: str, seen: int, by: By, now: datetime) -> int:
    """Write that all that is left on the voucher went back out of the account `out_of` ("bank", "cash" or "card").

    Returns how much that was. `seen`: what was left when the person was asked. The voucher is locked: it could
    otherwise pay a booking in the same moment. Raises NotPaidOut, SeenOtherwise.
    """
    voucher = lock_paid_for(voucher)
    left = left_on(voucher)
    as_seen(str(seen), str(left), SeenOtherwise("Something else is left on the voucher by now.", became=STAYS))
    if why := why_not_paid_back(voucher, left):
        raise NotPaidOut("No refund was noted.", why=(why,), became=STAYS)
    if out_of not in TAKE_MONEY:
        raise NotPaidOut("No refund was noted.", why=(f"“{out_of}” is no account that money is paid from.",))
    move(Transfer.Kind.REFUND, "vouchers_out", out_of, left, voucher, now=now)
    keep_voucher_tax(voucher, now=now)
    record("pay voucher back", voucher, by=by, now=now, fields=("balance",), said=reason)
    return left


STAYS = "The voucher stays as it was."


def why_not_paid_back(voucher: Voucher, left: int) -> str:
    """Why what is left on the voucher may not be paid back; empty where it may. One query at most."""
    if voucher.instead_of_id is not None:
        return "It was chosen instead of money after a walk was called off, and nobody bought it."
    if left <= 0:
        return "Nothing is left on it."
    if is_disputed(voucher):
        return "The holder of the card took its price back already. Settle that first."
    return ""
