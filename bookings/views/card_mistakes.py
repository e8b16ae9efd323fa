"""Pages on which the office takes back what it noted by mistake of money paid by card. Each asks once, and why."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from bookings.card_forms import MistakeForm
from bookings.models import CardPayout, Chargeback
from bookings.services.take_chargeback_back import reopen_chargeback, take_chargeback_back
from bookings.services.take_payout_back import take_payout_back
from bookings.views.asking_why import ask_with_a_form
from foraywright.floor.asking import Question
from foraywright.floor.compute.money import as_text
from foraywright.floor.door import names_act
from walks.views.guide import staff
from walks.views.sites import FORM


@names_act("money.handle")
@never_cache
@require_http_methods(FORM)
def staff_payout_back(request: HttpRequest, public_id: str) -> HttpResponse:
    """Take back a payout, with its fee."""
    payout = get_object_or_404(CardPayout.objects.select_related("line"), public_id=public_id, taken_back_at=None)
    question = Question("Take this payout back?", _what_goes(payout), "Take it back", reverse("staff_cards"))

    def take(told: dict[str, Any]) -> str:
        take_payout_back(payout, **told, by=staff(request), now=timezone.now())
        return "Taken back. Note it anew if something of it was right."

    return ask_with_a_form(request, question, MistakeForm(request.POST or None), take)


def _what_goes(payout: CardPayout) -> str:
    passed_on, fee = (as_text(one, payout.currency) for one in (payout.passed_on_minor, payout.fee_minor))
    where = "The line of the bank’s statement waits for a person again. " if payout.line_id else ""
    shares = "Payments that had a share of the fee are without one again. " if payout.is_shared else ""
    return (
        f"{passed_on} passed on and a fee of {fee} are turned round in the ledger, as if they had stayed with the "
        f"provider. {where}{shares}"
    ).strip()


@names_act("money.handle")
@never_cache
@require_http_methods(FORM)
def staff_chargeback_reopen(request: HttpRequest, public_id: str) -> HttpResponse:
    """Take back what was said follows from a chargeback, with its fee."""
    chargeback = _chargeback(public_id)
    fee = as_text(chargeback.fee_minor, chargeback.currency)
    will = (
        f"“{chargeback.get_state_display()}” and a fee of {fee} are turned round in the ledger, and the chargeback "
        "waits for a person again. " + _meanwhile(chargeback)
    )
    question = Question("Settle this chargeback anew?", will, "Take the settlement back", _page_of(chargeback))

    def reopen(told: dict[str, Any]) -> str:
        reopen_chargeback(chargeback, **told, by=staff(request), now=timezone.now())
        return "It waits again. Say what follows."

    return ask_with_a_form(request, question, MistakeForm(request.POST or None), reopen)


def _meanwhile(chargeback: Chargeback) -> str:
    if chargeback.voucher_id is not None:
        return "The voucher is worth what it was, and pays for nothing until then."
    return "What the party paid in the meantime stands beyond what it owes until then."


@names_act("money.handle")
@never_cache
@require_http_methods(FORM)
def staff_chargeback_back(request: HttpRequest, public_id: str) -> HttpResponse:
    """Take back a chargeback that nobody but the office told of."""
    chargeback = _chargeback(public_id)
    amount = as_text(chargeback.amount_minor, chargeback.currency)
    will = f"{amount} stand where they had come in again, as if the holder of the card had taken nothing back."
    question = Question("Was it noted by mistake?", will, "Take it back", _page_of(chargeback))

    def take(told: dict[str, Any]) -> str:
        take_chargeback_back(chargeback, **told, by=staff(request), now=timezone.now())
        return "Taken back: the payment stands as it did."

    return ask_with_a_form(request, question, MistakeForm(request.POST or None), take)


def _chargeback(public_id: str) -> Chargeback:
    return get_object_or_404(Chargeback, public_id=public_id)


def _page_of(chargeback: Chargeback) -> str:
    return reverse("staff_chargeback", args=[chargeback.public_id])
