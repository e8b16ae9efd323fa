"""The form in which the office issues a discount code."""

from __future__ import annotations

from datetime import datetime
from typing import Any, cast

from crispy_forms.layout import Layout, Submit
from django import forms

from bookings.money_forms import AmountField
from bookings.services.keep_discount_code import Terms
from walks.form_base import HelpedForm, day_input, pair
from walks.models import Offering


class DiscountForm(HelpedForm):
    """What a new discount code gives, when and for what."""

    code = forms.CharField(max_length=20, label="Code", help_text="Letters and figures, easy to say")
    label = forms.CharField(max_length=60, label="What it is for", help_text="The office reads this")
    percent = forms.IntegerField(label="Per cent off", required=False, min_value=1, max_value=100)
    amount = AmountField(label="Or an amount off", required=False)
    first_day = forms.DateField(label="From", widget=day_input())
    last_day = forms.DateField(label="To, that day included", widget=day_input())
    most_uses = forms.IntegerField(
        label="For how many bookings",
        required=False,
        min_value=1,
        max_value=100_000,
        help_text="Empty: as many as come",
    )
    offering = forms.ModelChoiceField(
        Offering.objects.none(), label="Only for", required=False, empty_label="every walk and course"
    )

    def __init__(self, *args: Any, now: datetime, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        coming = Offering.objects.filter(state=Offering.State.PUBLISHED, walks__starts_at__gt=now)
        offering = cast("forms.ModelChoiceField[Offering]", self.fields["offering"])
        offering.queryset = coming.distinct().order_by("title")

    def layout(self) -> Layout:
        pairs = pair("percent", "amount"), pair("first_day", "last_day"), pair("most_uses", "offering")
        return Layout("code", "label", *pairs, Submit("send", "Issue this code"))

    def terms(self) -> Terms:
        """What a valid form stands for."""
        told = self.cleaned_data
        return Terms(
            code=told["code"],
            label=told["label"],
            first_day=told["first_day"],
            last_day=told["last_day"],
            percent=told["percent"] or 0,
            amount_minor=told["amount"] or 0,
            most_uses=told["most_uses"],
            offering=told["offering"],
        )
