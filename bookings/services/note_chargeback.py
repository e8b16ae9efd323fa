"""Note that the holder of a card took a payment back: told by the provider's notice, or by the office."""

from __future__ import annotations

from datetime import datetime

from django.db.models import QuerySet

from bookings.errors import NotRecorded
from bookings.models import Booking, CardPayment, Chargeback, ChargebackTold, Transfer
from bookings.queries import balance, credited, currency_of
from bookings.services.book_tax import book_tax
from bookings.services.charging import move
from bookings.services.locks import lock_booking
from foraywright.floor.acts import By, act, record, require_act

State = Chargeback.State


@act
def note_chargeback(
    booking: Booking, payment: CardPayment | None, *, amount_minor: int, key: str, by: By, now: datetime
) -> Chargeback:
    """What the office read on the provider's page, or was told of a card that it had taken at the meeting point (None).

    The same key again returns the chargeback. Booking and payment are locked: a notice may tell of the same chargeback
    in the same moment. Raises NotRecorded.
    """
    booking, _ = lock_booking(booking)
    if payment is not None:
        payment = CardPayment.objects.select_for_update().get(pk=payment.pk)
    before = Chargeback.objects.filter(key=key).first()
    if before is not None:
        return before
    left = left_of_meeting_point(booking) if payment is None else left_of_payment(payment)
    if not 0 < amount_minor <= left:
        raise NotRecorded(
            "Nothing was noted.", why=["No more can be taken back than was paid and not taken back before."]
        )
    currency = currency_of(booking) if payment is None else payment.currency
    chargeback = Chargeback.objects.create(
        booking=booking, payment=payment, currency=currency, key=key, amount_minor=amount_minor, came_at=now
    )
    _take_from_card(chargeback, booking, now=now)
    record("note chargeback", booking, by=by, now=now, fields=("balance",))
    return chargeback


def left_of(chargeback: Chargeback) -> int:
    """What is left of the money that the chargeback is about. Two queries at most."""
    if chargeback.payment is not None:
        return left_of_payment(chargeback.payment)
    return left_of_meeting_point(chargeback.booking)


def left_of_payment(payment: CardPayment) -> int:
    """What was taken from the card and did not go back to its holder by a chargeback. One query."""
    return payment.written_minor - _gone(payment.chargebacks.all())


def left_of_meeting_point(booking: Booking) -> int:
    """What came at the meeting point, in cash or by card, and did not go back by a chargeback. Two queries.

    The books do not tell cash from card there: the office knows which it was.
    """
    came = booking.transfers.filter(kind=Transfer.Kind.PAYMENT, debit__key="cash")
    return sum(came.values_list("amount_minor", flat=True)) - _gone(booking.chargebacks.filter(payment=None))


def _gone(chargebacks: QuerySet[Chargeback]) -> int:
    return sum(chargebacks.exclude(state__in=Chargeback.NOT_GONE).values_list("amount_minor", flat=True))


def take_in_chargeback(payment: CardPayment, booking: Booking, told: ChargebackTold, *, now: datetime) -> None:
    """The step that acts on what a notice says of a chargeback, however often and in whatever order.

    One that the office had noted by hand is the same. Told first that it was given back, its amount never moved.
    """
    require_act()
    chargeback = _known(payment, told)
    if chargeback is None:
        state = State.GIVEN_BACK if told.given_back else State.WAITING
        settled = now if told.given_back else None
        chargeback = Chargeback.objects.create(
            booking=booking,
            payment=payment,
            currency=payment.currency,
            provider_key=told.key,
            amount_minor=told.amount_minor,
            came_at=now,
            state=state,
            settled_at=settled,
        )
        if not told.given_back:
            _take_from_card(chargeback, booking, now=now)
    elif told.given_back and chargeback.state != State.GIVEN_BACK:
        give_back_chargeback(chargeback, booking, now=now)
    record("chargeback", booking, by="card provider", now=now, fields=("balance",))


def _known(payment: CardPayment, told: ChargebackTold) -> Chargeback | None:
    """The chargeback of that name; or one told by hand of the same amount, which takes the name."""
    same = payment.chargebacks.select_for_update()
    named = same.filter(provider_key=told.key).first()
    by_hand = same.filter(provider_key="", amount_minor=told.amount_minor).exclude(state=State.MISTAKE).first()
    if named is None and by_hand is not None:
        by_hand.provider_key = told.key
        by_hand.save(update_fields=["provider_key"])
    return named or by_hand


def _take_from_card(chargeback: Chargeback, booking: Booking, *, now: datetime) -> None:
    move(Transfer.Kind.CHARGEBACK, "charged_back", chargeback.account, chargeback.amount_minor, booking, now=now)


def give_back_chargeback(chargeback: Chargeback, booking: Booking, *, now: datetime) -> None:
    """The step by which the provider's money is ours again: the entry is turned round where it waited.

    Where a person had settled it, it meets the debt that came of it, or what was written off; what is beyond waits for
    a person, since the party may have paid in another way.
    """
    turn_round(chargeback, booking, Transfer.Kind.GIVEN_BACK, into=chargeback.account, now=now)
    chargeback.state, chargeback.settled_at, chargeback.settled_by = State.GIVEN_BACK, now, None
    chargeback.save(update_fields=["state", "settled_at", "settled_by"])


def turn_round(chargeback: Chargeback, booking: Booking, kind: str, *, into: str, now: datetime) -> None:
    """The step that moves the amount of a chargeback from where it went to the account `into`."""
    require_act()
    rest = chargeback.amount_minor
    for account, most in _where_it_went(chargeback, booking):
        part = min(rest, most)
        move(kind, into, account, part, booking, now=now)
        rest -= part
    move(kind, into, "unmatched", rest, booking, now=now)
    book_tax(booking, now=now)


def _where_it_went(chargeback: Chargeback, booking: Booking) -> list[tuple[str, int]]:
    if chargeback.state == State.WAITING:
        return [("charged_back", chargeback.amount_minor)]
    if chargeback.state == State.GIVEN_BACK:
        return [(chargeback.account, chargeback.amount_minor)]
    if chargeback.state == State.OWED:
        return [("receivable", max(0, balance(booking)))]
    return [("bad_debts", max(0, -credited(booking, "bad_debts")))]
