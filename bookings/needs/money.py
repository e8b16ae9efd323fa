"""Money that waits for a person: refunds that were promised, payments that nobody could match."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from django.db.models import Exists, Max, OuterRef, Q
from django.urls import reverse
from payments import PaymentStatus

from bookings.dues import Unpaid, unpaid
from bookings.models import BankLine, Booking, CardPayment, Chargeback, Transfer
from bookings.models.cards import OPEN
from bookings.needs.need import Need, counted, day_of
from bookings.queries import OWED, standing_to
from foraywright.floor.compute.money import as_text
from foraywright.floor.compute.short_codes import spoken

PATIENCE = timedelta(days=7)
"""So long after a booking ended nobody need ask for what it still owes (our rule)."""


def refunds(now: datetime) -> Iterator[Need]:
    """Refunds promised and not yet paid. One query."""
    for code, currency, amount in standing_to("refunds_due"):
        words = f"{as_text(amount, currency)} is to be paid back for booking {spoken(code)}: it was promised."
        yield Need(words, reverse("staff_refund", args=[code]))


def unmatched(now: datetime) -> Iterator[Need]:
    """Money received that no booking owed. One query."""
    for code, currency, amount in standing_to("unmatched"):
        words = (
            f"{as_text(amount, currency)} came for booking {spoken(code)} beyond what it owes. "
            "Find out what it was meant for, or pay it back."
        )
        yield Need(words, reverse("staff_refund", args=[code]))


def overdue(now: datetime) -> Iterator[Need]:
    """Payments that did not come by their day, one line for each currency. Seven queries."""
    late = [one for one in unpaid(Booking.objects.all(), now=now) if one.is_overdue]
    for currency in sorted({one.currency for one in late}):
        mine = [one for one in late if one.currency == currency]
        total, since = sum(one.dues.first for one in mine), min(one.by for one in mine)
        of = f"booking {spoken(mine[0].booking.code)}" if len(mine) == 1 else f"{len(mine)} bookings"
        words = (
            f"{as_text(total, currency)} of {of} did not come in time, the oldest since {day_of(since)}. Ask for it."
        )
        yield Need(words, _page_of(mine))


def ended_debts(now: datetime) -> Iterator[Need]:
    """What bookings still owe a week after they ended: what was kept and never paid. One query."""
    ended = Transfer.objects.filter(booking__cancelled_at__lte=now - PATIENCE).exclude(
        booking__state=Booking.State.CONFIRMED
    )
    owing = ended.values("booking__code", "currency").annotate(owed=OWED, last=Max("at")).filter(owed__gt=0)
    for code, currency, owed in owing.order_by("last").values_list("booking__code", "currency", "owed"):
        owes = f"{as_text(owed, currency)} is still owed for booking {spoken(code)}, which has ended."
        words = f"{owes} Ask for it, or write it off."
        yield Need(words, reverse("staff_booking", args=[code]))


def _page_of(late: list[Unpaid]) -> str:
    if len(late) == 1:
        return reverse("staff_booking", args=[late[0].booking.code])
    return f"{reverse('staff_bookings')}?state=confirmed&money=owes&sort=day"


def card_refunds(now: datetime) -> Iterator[Need]:
    """Payments that the card provider says went back, while the books know of none out of the card. One query."""
    same = Q(booking=OuterRef("booking")) | Q(booking=None, voucher=OuterRef("voucher"))
    noted = Transfer.objects.filter(same, kind=Transfer.Kind.REFUND, credit__key="card")
    missing = CardPayment.objects.filter(~Exists(noted), status=PaymentStatus.REFUNDED)
    for payment in missing.select_related("booking", "voucher").order_by("pk"):
        what = _what(payment.booking)
        words = f"The card provider paid money back for {what}, and the books know nothing of it. Note it."
        yield Need(words, _where_refunded(payment))


def _where_refunded(payment: CardPayment) -> str:
    if payment.booking is not None:
        return reverse("staff_refund", args=[payment.booking.code])
    if payment.voucher is not None:
        return reverse("staff_voucher_refund", args=[payment.voucher.public_id])
    return reverse("staff_card_payment", args=[payment.token])


def card_pages(now: datetime) -> Iterator[Need]:
    """Card payments without word whose page could not be withdrawn: paid or not, nobody knows. One query."""
    silent = CardPayment.objects.filter(cannot_withdraw=True, status__in=OPEN).select_related("booking")
    for one in silent.order_by("pk"):
        amount = as_text(one.asked_minor, one.currency)
        words = (
            f"No word came of a card payment of {amount} for {_what(one.booking)}, and its page could not be "
            "withdrawn. Look at the provider’s page whether it was paid."
        )
        yield Need(words, reverse("staff_card_payment", args=[one.token]))


def chargebacks(now: datetime) -> Iterator[Need]:
    """Payments that card holders took back, and of which nobody has said yet what follows. One query."""
    waiting = Chargeback.objects.filter(state=Chargeback.State.WAITING).select_related("booking")
    for one in waiting:
        amount = as_text(one.amount_minor, one.currency)
        words = f"The holder of a card took {amount} back that was paid for {_what(one.booking)}. Say what follows."
        yield Need(words, reverse("staff_chargeback", args=[one.public_id]))


def _what(booking: Booking | None) -> str:
    return f"booking {spoken(booking.code)}" if booking is not None else "a voucher"


def bank_lines(now: datetime) -> Iterator[Need]:
    """Lines of bank statements that found no booking. One query."""
    waiting = BankLine.objects.filter(state=BankLine.State.WAITING).count()
    if waiting:
        lines = counted(waiting, "line of a bank statement belongs", "lines of bank statements belong")
        yield Need(f"{lines} to no booking yet. Say what was paid for.", reverse("staff_money"))
