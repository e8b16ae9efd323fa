"""The step by which money that a party took back by its bank meets what we had promised it."""

from __future__ import annotations

from datetime import datetime

from bookings.models import Booking, CallOffChoice
from bookings.queries import credited
from bookings.services.choose_after_call_off import settle_choice
from bookings.services.ledger import move
from foraywright.floor.acts import require_act

PROMISED = ("refunds_due", "unmatched")


def meet_promises(kind: str, out_of: str, amount_minor: int, booking: Booking, *, now: datetime) -> int:
    """The step that meets what was promised back for a locked booking, or came beyond what it owed, with
    `amount_minor` which left `out_of`; returns what is beyond it. Who has the money already is not paid twice.
    """
    require_act()
    _choose_the_money(booking, now=now)
    rest = amount_minor
    for account in PROMISED:
        part = min(rest, max(0, credited(booking, account)))
        move(kind, account, out_of, part, booking, now=now)
        rest -= part
    return rest


def _choose_the_money(booking: Booking, *, now: datetime) -> None:
    """Who takes the money of a called-off walk back by the bank has chosen it."""
    choice = CallOffChoice.objects.filter(booking=booking, choice="").first()
    if choice is not None:
        settle_choice(choice, booking, CallOffChoice.Choice.REFUND, now=now)
