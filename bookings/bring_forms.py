"""What a party brings: asked where the walk counts it, on the booking's form and on its own page."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from crispy_forms.layout import Layout, Submit
from django import forms

from walks.compute.arrivals import NOTHING, ArrivalRule, Brought
from walks.form_base import HelpedForm, pair

MOST_OF_A_PARTY = 20


def bring_fields(rules: Iterable[ArrivalRule]) -> dict[str, forms.IntegerField]:
    """The fields for what any of the walks counts: cars where spaces are counted, dogs where some may come."""
    rules = list(rules)
    asked = {}
    if any(rule.car_spaces is not None for rule in rules):
        asked["cars"] = _count("Cars that you bring", "Spaces are few: share a car if you can. 0 if you come without")
    if rules and all(rule.most_dogs for rule in rules):
        asked["dogs"] = _count("Dogs that you bring", "On a lead all the time. Assistance dogs are not counted")
    return asked


def _count(label: str, help_text: str) -> forms.IntegerField:
    widget = forms.NumberInput(attrs={"min": 0, "inputmode": "numeric"})
    return forms.IntegerField(
        label=label, help_text=help_text, required=False, min_value=0, max_value=MOST_OF_A_PARTY, widget=widget
    )


def brought_in(data: dict[str, Any]) -> Brought:
    """What the cleaned fields say; what was not asked is nothing."""
    return Brought(data.get("cars") or 0, data.get("dogs") or 0) if data else NOTHING


class BringForm(HelpedForm):
    """What the party of a booking brings."""

    def __init__(self, *args: Any, rules: Iterable[ArrivalRule], **kwargs: Any) -> None:
        self.asked = bring_fields(rules)
        super().__init__(*args, **kwargs)
        self.fields.update(self.asked)

    def layout(self) -> Layout:
        return Layout(*self.asked, Submit("bring", "Keep this", css_class="quiet"))

    @property
    def brings(self) -> Brought:
        return brought_in(self.cleaned_data)


class ArrivalsForm(HelpedForm):
    """The office's word on cars, dogs and lifts of one walk; empty: as the site says."""

    own_car_spaces = forms.IntegerField(
        label="Car spaces", required=False, min_value=0, max_value=200, help_text="For parties, ours left out"
    )
    own_most_dogs = forms.IntegerField(
        label="Dogs that may come, on a lead", required=False, min_value=0, max_value=20, help_text="0 for none"
    )
    own_shares_lifts = forms.TypedChoiceField(
        label="Parties may share lifts",
        required=False,
        choices=[("", "as its site"), ("yes", "yes"), ("no", "no")],
        coerce=lambda said: said == "yes",
        empty_value=None,
    )

    def layout(self) -> Layout:
        return Layout(pair("own_car_spaces", "own_most_dogs"), "own_shares_lifts", Submit("send", "Keep this"))
