"""Note that the holder of a card took a payment back: told by the provider's notice, or by the office."""

from __future__ import annotations

from datetime import datetime

from bookings.errors import NotRecorded
from bookings.models import Booking, CardPayment, Chargeback, ChargebackTold, Transfer
from bookings.queries import balance, credited
from bookings.services.book_tax import book_tax
from bookings.services.charging import move
from bookings.services.locks import lock_booking
from foraywright.floor.acts import By, act, record, require_act

State = Chargeback.State


@act
def note_chargeback(payment: CardPayment, *, amount_minor: int, key: str, by: By, now: datetime) -> Chargeback:
    """What the office read on the provider's page; the same key again returns the chargeback. Raises NotRecorded.

    Booking and payment are locked: a notice may tell of the same chargeback in the same moment.
    """
    booking, _ = lock_booking(payment.booking)
    payment = CardPayment.objects.select_for_update().get(pk=payment.pk)
    before = Chargeback.objects.filter(key=key).first()
    if before is not None:
        return before
    if not 0 < amount_minor <= left_of_payment(payment):
        raise NotRecorded(
            "Nothing was noted.", why=["No more can be taken back than was paid and not taken back before."]
        )
    chargeback = Chargeback.objects.create(payment=payment, key=key, amount_minor=amount_minor, came_at=now)
    _take_from_card(chargeback, booking, now=now)
    record("note chargeback", booking, by=by, now=now, fields=("balance",))
    return chargeback


def left_of_payment(payment: CardPayment) -> int:
    """What was taken from the card and did not go back to its holder by a chargeback. One query."""
    gone = payment.chargebacks.exclude(state__in=Chargeback.NOT_GONE).values_list("amount_minor", flat=True)
    return payment.written_minor - sum(gone)


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
            payment=payment,
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
    move(Transfer.Kind.CHARGEBACK, "charged_back", "card", chargeback.amount_minor, booking, now=now)


def give_back_chargeback(chargeback: Chargeback, booking: Booking, *, now: datetime) -> None:
    """The step by which the provider's money is ours again: the entry is turned round where it waited.

    Where a person had settled it, it meets the debt that came of it, or what was written off; what is beyond waits for
    a person, since the party may have paid in another way.
    """
    turn_round(chargeback, booking, Transfer.Kind.GIVEN_BACK, into="card", now=now)
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
        return [("card", chargeback.amount_minor)]
    if chargeback.state == State.OWED:
        return [("receivable", max(0, balance(booking)))]
    return [("bad_debts", max(0, -credited(booking, "bad_debts")))]
