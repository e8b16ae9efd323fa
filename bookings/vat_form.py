"""The form of the policy on value added tax: whether the business is registered, and how what it sells is taxed."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from crispy_forms.layout import Fieldset, Layout, Submit
from django import forms

from bookings.compute.vat import SUPPLIES, WORDS, Category, vat_policy_from
from bookings.vat_rates import rates_in_words, vat_rates
from foraywright.floor.models import Business
from walks.form_base import HelpedForm, day_input, pair

PER_CENT = Decimal(100)
CHOICES = [(one.value, WORDS[one].capitalize()) for one in Category if one != Category.UNREGISTERED]


def vat_initial(body: Mapping[str, Any]) -> dict[str, Any]:
    """The fields of a policy in force, as the form shows them."""
    shown = {"registered": body["registered"]}
    for key, one in body["supplies"].items():
        shown |= {f"category_{key}": one["category"], f"rate_{key}": f"{one['basis_points'] / PER_CENT:g}"}
    return shown


class VatForm(HelpedForm):
    """The next version of the policy. It is never dated back: what was sold keeps the rate it was sold at."""

    registered = forms.BooleanField(
        label="We are registered for value added tax",
        required=False,
        help_text="Below your law’s threshold a business need not be; then no tax is charged, and no invoice shows any",
    )
    from_day = forms.DateField(label="From this day on", widget=day_input(), help_text="Today or later")
    source = forms.CharField(
        max_length=200, label="Where that stands", help_text="The law or notice, or who told you and when"
    )

    def __init__(self, *args: Any, business: Business | None, today: date, **kwargs: Any) -> None:
        self.business, self.today = business, today
        super().__init__(*args, **kwargs)
        for key in SUPPLIES:
            self.fields[f"category_{key}"] = forms.ChoiceField(label="Taxed as", choices=CHOICES, initial="standard")
            self.fields[f"rate_{key}"] = forms.DecimalField(
                label="Rate, per cent",
                required=False,
                min_value=0,
                max_value=100,
                decimal_places=2,
                help_text="Empty where it has none",
            )

    def layout(self) -> Layout:
        kinds = [Fieldset(label, pair(f"category_{key}", f"rate_{key}")) for key, label in SUPPLIES.items()]
        return Layout("registered", *kinds, pair("from_day", "source"), Submit("send", "Put this in force"))

    def clean_registered(self) -> bool:
        """Nobody charges tax without the number that invoices must show."""
        registered: bool = self.cleaned_data["registered"]
        if registered and not (self.business and self.business.vat_number):
            raise forms.ValidationError("No VAT number is recorded, and invoices must show it. Record it first.")
        return registered

    def clean_from_day(self) -> date:
        """Today or later."""
        day: date = self.cleaned_data["from_day"]
        if day < self.today:
            raise forms.ValidationError("That day is over. What was sold since then keeps the rate it was sold at.")
        return day

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        if not self.errors:
            self._refuse_unsound()
            for key in SUPPLIES:
                self._refuse_strange_rate(key)
        return given

    def _refuse_unsound(self) -> None:
        try:
            vat_policy_from(self.body())
        except ValueError as fault:
            raise forms.ValidationError(str(fault)) from fault

    def _refuse_strange_rate(self, key: str) -> None:
        rate = self._basis_points(key)
        law = vat_rates(self.business.jurisdiction, self.cleaned_data["from_day"]) if self.business else ()
        if rate and law and rate not in {one.basis_points for one in law}:
            known = f"In force where you trade: {rates_in_words(law)}."
            self.add_error(f"rate_{key}", f"We know no such rate on that day. {known}")

    def _basis_points(self, key: str) -> int:
        return int((self.cleaned_data[f"rate_{key}"] or 0) * PER_CENT)

    def body(self) -> dict[str, Any]:
        """The policy that the cleaned form describes."""
        told = self.cleaned_data
        supplies = {
            key: {"category": told[f"category_{key}"], "basis_points": self._basis_points(key)} for key in SUPPLIES
        }
        return {"registered": told["registered"], "from_day": told["from_day"].isoformat(), "supplies": supplies}
