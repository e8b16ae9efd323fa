"""The form of the price list: prices by age band, concessions, the deposit, and the tax that is contained in them."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from crispy_forms.layout import Fieldset, Layout, Submit
from django import forms
from django.utils.text import slugify

from bookings.compute.prices import price_list_from
from bookings.queries import ADULT
from bookings.vat_rates import rates_in_words, vat_rates
from foraywright.floor.compute.money import decimals, in_major, in_minor
from foraywright.floor.models import Business
from walks.compute.age_bands import RatioPolicy
from walks.form_base import HelpedForm, pair

HUNDRED = Decimal(100)
MOST_CONCESSIONS = 3
MOST_MINOR = 10_000_000
OF_A_CONCESSION = ("label", "show", "band", "price")


def _amount(label: str, currency: str, **rest: Any) -> forms.DecimalField:
    places, most = decimals(currency), in_major(MOST_MINOR, currency)
    return forms.DecimalField(label=label, min_value=0, max_value=most, decimal_places=places, **rest)


def price_list_initial(body: Mapping[str, Any]) -> dict[str, Any]:
    """The fields of a price list in force, as the form shows them."""
    currency = body["currency"]
    shown: dict[str, Any] = {band: f"{in_major(minor, currency):f}" for band, minor in body["by_band"].items()}
    shown["vat"] = f"{body.get('vat_basis_points', 0) / HUNDRED:g}"
    if deposit := body.get("deposit"):
        shown |= {"deposit": deposit["percent"], "rest_days": deposit["rest_days"]}
    for number, one in enumerate(body.get("concessions", ()), start=1):
        shown |= {f"label_{number}": one["label"], f"show_{number}": one["show"], f"band_{number}": one["band"]}
        shown[f"price_{number}"] = f"{in_major(one['price'], currency):f}"
    return shown


class PricesForm(HelpedForm):
    """The next version of the price list. `before`: the list in force, whose concessions keep their keys.

    `taxed_apart`: the tax has a policy of its own, so that no rate is asked for.
    """

    vat = forms.DecimalField(label="VAT in the prices, per cent", min_value=0, max_value=100, decimal_places=2)
    deposit = forms.IntegerField(
        label="Deposit, per cent", required=False, min_value=1, max_value=99, help_text="Empty: all is due at once"
    )
    rest_days = forms.IntegerField(
        label="The rest is due so many days before", required=False, min_value=0, max_value=365, help_text="E.g. 14"
    )

    def __init__(
        self,
        *args: Any,
        policy: RatioPolicy,
        business: Business | None,
        today: date,
        before: Mapping[str, Any],
        taxed_apart: bool = False,
        **kwargs: Any,
    ) -> None:
        self.bands = {ADULT: "Adult"} | {one.key: f"Child, {one.label}" for one in policy.bands}
        self.business, self.before = business, before
        self.currency = business.currency if business else ""
        self.rates = vat_rates(business.jurisdiction, today) if business else ()
        super().__init__(*args, **kwargs)
        self.fields = {key: _amount(label, self.currency) for key, label in self.bands.items()} | self.fields
        self.fields["vat"].help_text = self._rates_in_words()
        if taxed_apart:
            self._leave_tax_out()
        for number in range(1, MOST_CONCESSIONS + 1):
            self.fields |= self._concession_fields(number)

    def _leave_tax_out(self) -> None:
        del self.fields["vat"]
        self.helper.layout[0].remove("vat")

    def _concession_fields(self, number: int) -> dict[str, forms.Field]:
        return {
            f"label_{number}": forms.CharField(
                label="For whom", required=False, max_length=60, help_text="E.g. student, or on a low income"
            ),
            f"show_{number}": forms.CharField(
                label="What they show on the day", required=False, max_length=120, help_text="E.g. a student card"
            ),
            f"band_{number}": forms.ChoiceField(
                label="Instead of the price for", required=False, choices=list(self.bands.items())
            ),
            f"price_{number}": _amount("Price", self.currency, required=False),
        }

    def _rates_in_words(self) -> str:
        known = f"In force where you trade: {rates_in_words(self.rates)}. " if self.rates else ""
        return f"{known}0 where you are not registered, or nothing is owed. Ask whoever does your books"

    def layout(self) -> Layout:
        numbers = range(1, MOST_CONCESSIONS + 1)
        lower = [
            Fieldset(f"Lower price {n}", f"label_{n}", f"show_{n}", pair(f"band_{n}", f"price_{n}")) for n in numbers
        ]
        return Layout(
            Fieldset("Prices", *self.bands, "vat"),
            Fieldset("Deposit", pair("deposit", "rest_days")),
            *lower,
            Submit("send", "Put these prices in force"),
        )

    def clean_vat(self) -> Decimal:
        """A rate that is in force, or none; and none where the business is not registered."""
        vat: Decimal = self.cleaned_data["vat"]
        if vat and self.business and not self.business.vat_number:
            raise forms.ValidationError(
                "No VAT number is recorded, so no VAT can be charged. Write 0, or record it first."
            )
        if vat and self.rates and int(vat * HUNDRED) not in {one.basis_points for one in self.rates}:
            raise forms.ValidationError(f"{vat:g} per cent is no rate there. {self._rates_in_words()}.")
        return vat

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        for number in range(1, MOST_CONCESSIONS + 1):
            self._refuse_half(given, number)
        if (given.get("deposit") is None) != (given.get("rest_days") is None):
            self.add_error("deposit", "A deposit needs both: how much of the price, and when the rest is due.")
        if not self.errors:
            self._refuse_unsound()
        return given

    def _refuse_half(self, given: Mapping[str, Any], number: int) -> None:
        said = [given.get(f"{one}_{number}") not in (None, "") for one in ("label", "show", "price")]
        if any(said) and not all(said):
            self.add_error(f"label_{number}", "A lower price needs all three: for whom, what they show, and the price.")

    def _refuse_unsound(self) -> None:
        try:
            price_list_from(self.body())
        except ValueError as fault:
            raise forms.ValidationError(str(fault)) from fault

    def body(self) -> dict[str, Any]:
        """The price policy that the cleaned form describes: minor units and basis points."""
        given = self.cleaned_data
        by_band = {key: in_minor(given[key], self.currency) for key in self.bands}
        body: dict[str, Any] = {"currency": self.currency, "by_band": by_band}
        if "vat" in given:
            body["vat_basis_points"] = int(given["vat"] * HUNDRED)
        if concessions := list(self._concessions()):
            body["concessions"] = concessions
        if given["deposit"] is not None:
            body["deposit"] = {"percent": given["deposit"], "rest_days": given["rest_days"]}
        return body

    def _concessions(self) -> Iterator[dict[str, Any]]:
        keys = {one["label"]: one["key"] for one in self.before.get("concessions", ())}
        taken = {keys.get(self.cleaned_data[f"label_{n}"], "") for n in range(1, MOST_CONCESSIONS + 1)}
        for number in range(1, MOST_CONCESSIONS + 1):
            label, show, band, price = (self.cleaned_data[f"{one}_{number}"] for one in OF_A_CONCESSION)
            if label:
                key = keys.get(label) or _new_key(label, taken)
                taken.add(key)
                minor = in_minor(price, self.currency)
                yield {"key": key, "label": label, "show": show, "band": band or ADULT, "price": minor}


def _new_key(label: str, taken: Collection[str]) -> str:
    """A key made of the label, never one of `taken`: two labels may begin alike, or have no letter that a key can."""
    base = slugify(label)[:17].strip("-") or "lower"
    return next(one for one in (base, *(f"{base}-{n}" for n in range(2, 10))) if one not in taken)
