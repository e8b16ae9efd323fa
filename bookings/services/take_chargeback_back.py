"""Take back what the office said of a chargeback: what follows from it, or that there is one at all."""

from __future__ import annotations

from datetime import datetime

from bookings.errors import SAY_WHY, NotMatched
from bookings.models import Chargeback, Transfer
from bookings.services.card_fees import take_fee_back
from bookings.services.locks import lock_paid_for
from bookings.services.note_chargeback import follow, left_of, turn_round
from foraywright.floor.acts import act, record, require_act
from foraywright.floor.models import User

State = Chargeback.State


@act
def reopen_chargeback(chargeback: Chargeback, *, reason: str, by: User, now: datetime) -> None:
    """What a person said follows was a mistake, or its fee was: it waits again, without a fee. Raises NotMatched.

    What the party paid in the meantime stands beyond what it owes, and is met first when it is settled anew. The locks
    are those of settling.
    """
    chargeback = _lock(chargeback, reason)
    if not chargeback.is_settled_by_hand:
        raise NotMatched("Nothing was changed.", why=("No person said what follows from it.",))
    if chargeback.state == State.GIVEN_BACK and chargeback.amount_minor > left_of(chargeback):
        raise NotMatched("Nothing was changed.", why=("The holder of the card took the same money back since.",))
    take_fee_back(chargeback.fee_minor, chargeback.currency, into=chargeback.account, now=now)
    turn_round(chargeback, Transfer.Kind.MISTAKE, into="charged_back", now=now)
    chargeback.state, chargeback.settled_at, chargeback.settled_by = State.WAITING, None, None
    chargeback.reason, chargeback.fee_minor = "", 0
    chargeback.save()
    follow(chargeback, now=now)
    record("reopen chargeback", chargeback.paid_for, by=by, now=now, fields=("balance",), said=reason)


@act
def take_chargeback_back(chargeback: Chargeback, *, reason: str, by: User, now: datetime) -> None:
    """The office noted it by mistake: the money never left the provider. Raises NotMatched.

    Only while it waits, and not once the provider told of it: that is the provider's word. A notice that comes
    afterwards tells of another one. The locks are those of settling.
    """
    chargeback = _lock(chargeback, reason)
    if not chargeback.is_only_by_hand:
        raise NotMatched("Nothing was changed.", why=("It is settled, or the provider told of it as well.",))
    turn_round(chargeback, Transfer.Kind.MISTAKE, into=chargeback.account, now=now)
    chargeback.state, chargeback.settled_at, chargeback.settled_by = State.MISTAKE, now, by
    chargeback.reason = reason
    chargeback.save()
    follow(chargeback, now=now)
    record("take chargeback back", chargeback.paid_for, by=by, now=now, fields=("balance",), said=reason)


def _lock(chargeback: Chargeback, reason: str) -> Chargeback:
    """The step that locks what was paid for and the chargeback, for whoever says why."""
    require_act()
    lock_paid_for(chargeback.paid_for)
    if not reason:
        raise NotMatched("Nothing was changed.", why=(SAY_WHY,))
    return Chargeback.objects.select_for_update().get(pk=chargeback.pk)
