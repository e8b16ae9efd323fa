"""Money back, or a voucher, after we called a walk off: chosen by the party, or money where it does not choose."""

from __future__ import annotations

from datetime import datetime

from bookings.errors import NotChosen
from bookings.models import Booking, CallOffChoice, Transfer
from bookings.queries import awaiting_choice
from bookings.services.book_tax import book_tax
from bookings.services.issue_voucher import give_instead
from bookings.services.ledger import move
from bookings.services.locks import lock_booking
from bookings.services.return_to_vouchers import return_to_vouchers
from bookings.vouchers import used_for
from foraywright.floor.acts import By, act, record, require_act
from foraywright.floor.refusals import SeenOtherwise, as_seen

Choice = CallOffChoice.Choice
CHANGED = "Another amount waits for your choice than the page showed."
STAYS = "Places and money stay as they are."


@act
def choose_refund(booking: Booking, *, seen: str | None = None, by: By, now: datetime) -> None:
    """Choose the money back; choosing it again does nothing more. Raises NotChosen where another choice was made.

    `seen`: the amount that was shown, in minor units; raises SeenOtherwise where another one waits. The booking is
    locked: it may be moved to another walk in the same moment.
    """
    booking, choice = _open_choice(booking, seen, Choice.REFUND, Choice.NONE)
    if choice is not None:
        settle_choice(choice, booking, Choice.REFUND, now=now)
        record("choose refund", booking, by=by, now=now, fields=("choice",))


@act
def choose_voucher(booking: Booking, *, seen: str | None = None, by: By, now: datetime) -> None:
    """Choose a voucher for all that was paid; the same locks and refusals as for the money."""
    booking, choice = _open_choice(booking, seen, Choice.VOUCHER)
    if choice is not None:
        taxed = sum(amount for voucher, amount in used_for(booking) if voucher.vat_basis_points is not None)
        amount = awaiting_choice(booking)
        give_instead(booking, amount, taxed_minor=min(taxed, amount), now=now)
        settle_choice(choice, booking, Choice.VOUCHER, now=now)
        record("choose voucher", booking, by=by, now=now, fields=("choice",))


def _open_choice(booking: Booking, seen: str | None, *same: str) -> tuple[Booking, CallOffChoice | None]:
    """The locked booking with its open choice; None where it was made already and is one of `same`."""
    booking, _ = lock_booking(booking)
    choice = CallOffChoice.objects.filter(booking=booking).first()
    if choice is not None and choice.choice in same:
        return booking, None
    if choice is None or choice.choice:
        raise NotChosen("There is nothing to choose.", became=STAYS)
    as_seen(seen, str(awaiting_choice(booking)), SeenOtherwise(CHANGED, became=STAYS))
    return booking, choice


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
        settle_choice(choice, booking, Choice.NONE, now=now)
        record("refund unchosen", booking, by="worker", now=now, fields=("choice",))


def settle_choice(choice: CallOffChoice, booking: Booking, chosen: str, *, now: datetime) -> None:
    """The step that notes the choice of a locked booking and promises back what waits for it still."""
    require_act()
    choice.choice, choice.chosen_at = chosen, now
    choice.save(update_fields=["choice", "chosen_at"])
    move(Transfer.Kind.CREDIT, "awaiting_choice", "refunds_due", awaiting_choice(booking), booking, now=now)
    return_to_vouchers(booking, now=now)
    book_tax(booking, now=now)
