"""Forms of the office on what is paid by card."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, cast

from crispy_forms.layout import Layout, Submit
from django import forms

from bookings.errors import SAY_WHY
from bookings.models import Chargeback
from bookings.money_forms import WITHOUT_NAMES, AmountField, WhyForm
from foraywright.floor.ids import new_secret
from walks.form_base import HelpedForm, pair

FOLLOWS = {
    Chargeback.State.OWED: "The party owes it again; what was promised back to it is met first",
    Chargeback.State.TAKEN_OFF: "The voucher is worth so much less; what was spent of it is our loss",
    Chargeback.State.WRITTEN_OFF: "We let it go, and it is our loss; what was promised back is met first",
    Chargeback.State.GIVEN_BACK: "The provider decided for us and gave it back",
}


class PayoutForm(HelpedForm):
    """What the card provider passed on, and what it charged."""

    key = forms.CharField(max_length=40, widget=forms.HiddenInput, initial=new_secret)
    passed_on = AmountField(
        label="Passed on to the bank",
        required=False,
        help_text="Leave it empty where you take in the bank’s statements: the line of the statement says it",
    )
    fee = AmountField(label="Fee", required=False, help_text="What the provider kept or charged")
    shared = forms.BooleanField(
        label="the fee is for the payments passed on: share it among them by amount",
        required=False,
        initial=True,
        help_text="Take the mark away for a monthly fee: it is then a cost of the season and of no single walk",
    )
    reason = forms.CharField(max_length=120, required=False, help_text=WITHOUT_NAMES)

    def layout(self) -> Layout:
        return Layout("key", pair("passed_on", "fee"), "shared", "reason", Submit("note", "Note it"))

    def clean(self) -> dict[str, Any]:
        told = super().clean() or {}
        if not self.errors and not told["passed_on"] and not told["fee"]:
            self.add_error("fee", "Write what was passed on, or what was charged, or both.")
        return told


class ChargebackForm(HelpedForm):
    """That the holder of a card took a payment back."""

    key = forms.CharField(max_length=40, widget=forms.HiddenInput, initial=new_secret)
    amount = AmountField(label="Taken back")

    def layout(self) -> Layout:
        return Layout("key", "amount", Submit("chargeback", "The holder of the card took this back"))


class OutcomeForm(HelpedForm):
    """What became of a payment of which no word came."""

    outcome = forms.ChoiceField(
        label="What does the provider’s page say?",
        choices=(("paid", "It was paid, in full"), ("not_paid", "It was not paid")),
        widget=forms.RadioSelect,
    )

    def layout(self) -> Layout:
        return Layout("outcome", Submit("tell", "Note it"))


class SettleChargebackForm(HelpedForm):
    """What follows from a chargeback."""

    state = forms.ChoiceField(
        label="What follows?",
        widget=forms.RadioSelect,
    )
    fee = AmountField(label="Fee", required=False, help_text="What the provider charged for it, if it said so")
    reason = forms.CharField(max_length=120, required=False, help_text=f"Needed to let it go. {WITHOUT_NAMES}")

    def __init__(self, *args: Any, follows: Sequence[str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        state = cast(forms.ChoiceField, self.fields["state"])
        state.choices = [(key, words) for key, words in FOLLOWS.items() if key in follows]

    def layout(self) -> Layout:
        return Layout("state", "fee", "reason", Submit("settle", "Settle it"))

    def clean(self) -> dict[str, Any]:
        told = super().clean() or {}
        if told.get("state") == Chargeback.State.WRITTEN_OFF and not told.get("reason"):
            self.add_error("reason", SAY_WHY)
        return told


class MistakeForm(WhyForm):
    """Why something is taken back."""

    reason = forms.CharField(max_length=120, label="What was the mistake?", help_text=WITHOUT_NAMES)
