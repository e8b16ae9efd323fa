"""Forms on vouchers."""

from __future__ import annotations

from typing import Any, cast

from crispy_forms.layout import Layout, Submit
from django import forms

from bookings.money_forms import PAID_OUT_BY, AmountField, WhyForm, trading_currency
from foraywright.floor.ids import new_secret
from walks.form_base import HelpedForm

MEANS = (("cash", "Cash or card, where we meet"), ("bank", "Bank transfer"))


class SellVoucherForm(HelpedForm):
    """A voucher to sell, and how it was paid. `key` makes the form sent twice one voucher."""

    key = forms.CharField(max_length=40, widget=forms.HiddenInput, initial=new_secret)
    value = AmountField(label="Worth", help_text="Take the money first")
    into = forms.ChoiceField(
        label="Paid by",
        choices=MEANS,
        widget=forms.RadioSelect,
        initial="cash",
    )

    def layout(self) -> Layout:
        return Layout("key", "value", "into", Submit("send", "Issue this voucher"))


class VoucherRefundForm(WhyForm):
    """How what is left on a voucher was paid back, and why."""

    out_of = forms.ChoiceField(label="Paid out by", choices=PAID_OUT_BY, widget=forms.RadioSelect)

    def layout(self) -> Layout:
        return Layout("out_of", "reason")


class OrderVoucherForm(HelpedForm):
    """A voucher to order and pay by transfer or card. `key` makes the form sent twice one order."""

    key = forms.CharField(max_length=40, widget=forms.HiddenInput, initial=new_secret)
    value = AmountField(label="Worth")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["value"].help_text = f"In {trading_currency()}, whole or with decimals: 50 or 50.00"

    def layout(self) -> Layout:
        return Layout("key", "value", Submit("send", "Order this voucher"))


class GuideVoucherForm(SellVoucherForm):
    """The same for a guide, who sees no bank statements."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        cast(forms.ChoiceField, self.fields["into"]).choices = MEANS[:1]


class VoucherField(forms.CharField):
    """The code of a voucher, as it was typed."""

    def __init__(self) -> None:
        super().__init__(
            label="Voucher",
            required=False,
            max_length=20,
            help_text="Seven letters and figures, as in K7M 4QX R. It pays as far as it reaches.",
            widget=forms.TextInput(attrs={"autocomplete": "off", "class": "short-field"}),
            error_messages={"max_length": "The code of a voucher has seven letters and figures."},
        )


class UseVoucherForm(HelpedForm):
    """A voucher that pays for a booking."""

    within_a_form = True

    voucher = VoucherField()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["voucher"].required = True
        self.fields["voucher"].error_messages["required"] = "Write the voucher’s code."

    def layout(self) -> Layout:
        return Layout("voucher", Submit("send", "Pay with this voucher", css_class="quiet"))
