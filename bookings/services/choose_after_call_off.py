"""Money back after we called a walk off: because the party chose it, or did not choose in time."""

from __future__ import annotations

from datetime import datetime

from bookings.errors import NotChosen
from bookings.models import Booking, CallOffChoice, Transfer
from bookings.queries import awaiting_choice
from bookings.services.charging import currency_of
from bookings.services.ledger import transfer
from bookings.services.locks import lock_booking
from foraywright.floor.acts import By, act, record, require_act


@act
def choose_refund(booking: Booking, *, by: By, now: datetime) -> None:
    """Choose the money back; choosing it again does nothing more. Raises NotChosen where another choice was made.

    The booking is locked: it may be moved to another walk in the same moment.
    """
    booking, _ = lock_booking(booking)
    choice = CallOffChoice.objects.filter(booking=booking).first()
    if choice is not None and choice.choice in (CallOffChoice.Choice.REFUND, CallOffChoice.Choice.NONE):
        return
    if choice is None or choice.choice:
        raise NotChosen("There is nothing to choose.", became="Places and money stay as they are.")
    settle_choice(choice, booking, CallOffChoice.Choice.REFUND, now=now)
    record("choose refund", booking, by=by, now=now, fields=("choice",))


def refund_next_unchosen(*, now: datetime) -> CallOffChoice | None:
    """Promise the money back to the next party that did not choose in time; None where there is none."""
    overdue = CallOffChoice.objects.filter(choice="", choose_by__lte=now).select_related("booking")
    choice = overdue.order_by("choose_by", "pk").first()
    if choice is not None:
        _refund_unchosen(choice, now=now)
    return choice


@act
def _refund_unchosen(choice: CallOffChoice, *, now: datetime) -> None:
    booking, _ = lock_booking(choice.booking)
    choice.refresh_from_db()
    if not choice.choice:
        settle_choice(choice, booking, CallOffChoice.Choice.NONE, now=now)
        record("refund unchosen", booking, by="worker", now=now, fields=("choice",))


def settle_choice(choice: CallOffChoice, booking: Booking, chosen: str, *, now: datetime) -> None:
    """The step that notes the choice of a locked booking and promises back what waits for it still."""
    require_act()
    choice.choice, choice.chosen_at = chosen, now
    choice.save(update_fields=["choice", "chosen_at"])
    transfer(
        Transfer.Kind.CREDIT,
        debit="awaiting_choice",
        credit="refunds_due",
        amount_minor=awaiting_choice(booking),
        currency=currency_of(booking),
        booking=booking,
        now=now,
    )
