"""Note that the holder of a card took a payment back: told by the provider's notice, or by the office."""

from __future__ import annotations

from datetime import datetime

from django.db.models import QuerySet

from bookings.errors import NotRecorded
from bookings.models import Booking, CardPayment, Chargeback, ChargebackTold, Transfer, Voucher
from bookings.queries import balance, currency_of, written_off
from bookings.services.book_tax import book_tax
from bookings.services.ledger import move
from bookings.services.locks import lock_paid_for
from bookings.services.take_off_voucher import take_off_voucher
from foraywright.floor.acts import By, act, record, require_act

State = Chargeback.State


@act
def note_chargeback(
    paid_for: Booking | Voucher, payment: CardPayment | None, *, amount_minor: int, key: str, by: By, now: datetime
) -> Chargeback:
    """What the office read on the provider's page, or was told of a card that it had taken at the meeting point (None).

    The same key again returns the chargeback. What was paid for and the payment are locked: a notice may tell of the
    same chargeback in the same moment. Raises NotRecorded.
    """
    paid_for = lock_paid_for(paid_for)
    if payment is not None:
        payment = CardPayment.objects.select_for_update().get(pk=payment.pk)
    before = Chargeback.objects.filter(key=key).first()
    if before is not None:
        return before
    left = left_of_meeting_point(paid_for) if payment is None else left_of_payment(payment)
    if not 0 < amount_minor <= left:
        raise NotRecorded(
            "Nothing was noted.", why=["No more can be taken back than was paid and not taken back before."]
        )
    currency = currency_of(paid_for) if isinstance(paid_for, Booking) else paid_for.currency
    chargeback = paid_for.chargebacks.create(
        payment=payment, currency=currency, key=key, amount_minor=amount_minor, came_at=now
    )
    _take_from_card(chargeback, now=now)
    record("note chargeback", paid_for, by=by, now=now, fields=("balance",))
    return chargeback


def left_of(chargeback: Chargeback) -> int:
    """What is left of the money that the chargeback is about. Two queries at most."""
    if chargeback.payment is not None:
        return left_of_payment(chargeback.payment)
    return left_of_meeting_point(chargeback.paid_for)


def left_of_payment(payment: CardPayment) -> int:
    """What was taken from the card and did not go back to its holder by a chargeback. One query."""
    return payment.written_minor - _gone(payment.chargebacks.all())


def left_of_meeting_point(paid_for: Booking | Voucher) -> int:
    """What came at the meeting point, in cash or by card, and did not go back by a chargeback. Two queries.

    The books do not tell cash from card there: the office knows which it was.
    """
    came = paid_for.transfers.filter(kind=Transfer.Kind.PAYMENT, debit__key="cash")
    return sum(came.values_list("amount_minor", flat=True)) - _gone(paid_for.chargebacks.filter(payment=None))


def _gone(chargebacks: QuerySet[Chargeback]) -> int:
    return sum(chargebacks.exclude(state__in=Chargeback.NOT_GONE).values_list("amount_minor", flat=True))


def take_in_chargeback(payment: CardPayment, told: ChargebackTold, *, now: datetime) -> None:
    """The step that acts on what a notice says of a chargeback, however often and in whatever order.

    One that the office had noted by hand is the same. Told first that it was given back, its amount never moved.
    """
    require_act()
    chargeback = _known(payment, told)
    if chargeback is None:
        state = State.GIVEN_BACK if told.given_back else State.WAITING
        settled = now if told.given_back else None
        chargeback = Chargeback.objects.create(
            booking=payment.booking,
            voucher=payment.voucher,
            payment=payment,
            currency=payment.currency,
            provider_key=told.key,
            amount_minor=told.amount_minor,
            came_at=now,
            state=state,
            settled_at=settled,
        )
        if not told.given_back:
            _take_from_card(chargeback, now=now)
    elif told.given_back and chargeback.state != State.GIVEN_BACK:
        give_back_chargeback(chargeback, now=now)
    record("chargeback", chargeback.paid_for, by="card provider", now=now, fields=("balance",))


def _known(payment: CardPayment, told: ChargebackTold) -> Chargeback | None:
    """The chargeback of that name; or one told by hand of the same amount, which takes the name."""
    same = payment.chargebacks.select_for_update()
    named = same.filter(provider_key=told.key).first()
    by_hand = same.filter(provider_key="", amount_minor=told.amount_minor).exclude(state=State.MISTAKE).first()
    if named is None and by_hand is not None:
        by_hand.provider_key = told.key
        by_hand.save(update_fields=["provider_key"])
    return named or by_hand


def _take_from_card(chargeback: Chargeback, *, now: datetime) -> None:
    paid_for, amount = chargeback.paid_for, chargeback.amount_minor
    move(Transfer.Kind.CHARGEBACK, "charged_back", chargeback.account, amount, paid_for, now=now)


def give_back_chargeback(chargeback: Chargeback, *, now: datetime) -> None:
    """The step by which the provider's money is ours again: the entry is turned round where it waited.

    Where a person had settled it, it meets the debt that came of it, or what was written off; what is beyond waits for
    a person, since the party may have paid in another way.
    """
    turn_round(chargeback, Transfer.Kind.GIVEN_BACK, into=chargeback.account, now=now)
    chargeback.state, chargeback.settled_at, chargeback.settled_by = State.GIVEN_BACK, now, None
    chargeback.save(update_fields=["state", "settled_at", "settled_by"])
    follow(chargeback, now=now)


def turn_round(chargeback: Chargeback, kind: str, *, into: str, now: datetime) -> None:
    """The step that moves the amount of a chargeback from where it went to the account `into`."""
    require_act()
    paid_for, rest = chargeback.paid_for, chargeback.amount_minor
    for account, most in _where_it_went(chargeback, paid_for):
        part = min(rest, most)
        move(kind, into, account, part, paid_for, now=now)
        rest -= part
    move(kind, into, "unmatched", rest, paid_for, now=now)


def _where_it_went(chargeback: Chargeback, paid_for: Booking | Voucher) -> list[tuple[str, int]]:
    if chargeback.state == State.WAITING:
        return [("charged_back", chargeback.amount_minor)]
    if chargeback.state == State.GIVEN_BACK:
        return [(chargeback.account, chargeback.amount_minor)]
    if isinstance(paid_for, Voucher):
        return [("bad_debts", chargeback.amount_minor)]
    if chargeback.state == State.OWED:
        return [("receivable", max(0, balance(paid_for))), ("bad_debts", written_off(paid_for))]
    return [("bad_debts", written_off(paid_for))]


def follow(chargeback: Chargeback, *, now: datetime) -> None:
    """The step by which the tax, and the voucher that was paid for, follow what is said of a chargeback by now."""
    require_act()
    paid_for = chargeback.paid_for
    if isinstance(paid_for, Voucher):
        take_off_voucher(paid_for, now=now)
    else:
        book_tax(paid_for, now=now)
