"""Forms of the office and the guides on money."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Any, cast

from crispy_forms.layout import Layout, Submit
from django import forms
from django.core.exceptions import ValidationError

from bookings.compute.camt import MOST_BYTES
from bookings.errors import SAY_WHY
from bookings.models import BankLine, Booking
from bookings.vouchers import order_paid_by
from foraywright.floor.compute.money import decimals, in_major, in_minor
from foraywright.floor.compute.short_codes import read_short_code
from foraywright.floor.ids import new_secret
from foraywright.floor.models import Business
from walks.form_base import HelpedForm

AMOUNT = re.compile(r"[0-9]{1,7}(?:[.,][0-9]{1,4})?")

WITHOUT_NAMES = "One line for the audit, without names"

DECIMALS_IN_WORDS = ("no decimals", "one decimal", "two decimals", "three decimals", "four decimals")


class AmountField(forms.CharField):
    """An amount of the business's currency as people write it, "18" or "18.00", read as minor units."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(max_length=20, widget=forms.TextInput(attrs={"inputmode": "decimal"}), **kwargs)

    def clean(self, value: Any) -> int:
        typed = super().clean(value)
        if not typed:
            return 0
        currency = trading_currency()
        places = decimals(currency)
        _, _, rest = typed.replace(",", ".").partition(".")
        if not AMOUNT.fullmatch(typed) or len(rest) not in (0, places):
            example = f"{in_major(18 * 10**places, currency):f}"
            raise ValidationError(f"“{typed}” is no amount. Write it with {DECIMALS_IN_WORDS[places]}, e.g. {example}.")
        return in_minor(Decimal(typed.replace(",", ".")), currency)


def trading_currency() -> str:
    """The currency that the business trades in. One query."""
    return Business.objects.values_list("currency", flat=True).first() or "GBP"


class StatementForm(HelpedForm):
    """A bank statement to take in."""

    statement = forms.FileField(
        label="Bank statement (camt.053)",
        help_text=f"An XML file of your bank, up to {MOST_BYTES // 1024 // 1024} MB. Taking the same file in again "
        "does no harm",
        widget=forms.FileInput(attrs={"accept": ".xml"}),
    )

    def layout(self) -> Layout:
        return Layout("statement", Submit("send", "Take in the statement"))


SETTLE = Submit("send", "Settle this line")


class BankLineForm(HelpedForm):
    """What a line of the bank's statement is."""

    MATCH, RETURN, PAYOUT, WRITE_OFF, VOUCHER = "match", "return", "payout", "write_off", "voucher"
    what = forms.ChoiceField(label="What is it?", widget=forms.RadioSelect)
    code = forms.CharField(label="Code of the booking", max_length=20, required=False, help_text="Needed for a payment")
    fee = AmountField(
        label="Fee", required=False, help_text="Of a card provider’s payment: what it kept before it passed this on"
    )
    reason = forms.CharField(
        max_length=120, required=False, help_text="Needed for the other answers: one line for the audit, without names"
    )

    def __init__(self, *args: Any, line: BankLine, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        cast(forms.ChoiceField, self.fields["what"]).choices = self._choices(line)
        if not line.came_in:
            del self.fields["fee"]
            self.helper.layout = Layout("what", "code", "reason", SETTLE)

    def _choices(self, line: BankLine) -> list[tuple[str, str]]:
        if not line.came_in:
            return [
                (
                    self.MATCH,
                    "A payment for this booking that the bank took back: owed again beyond what was promised",
                ),
                (self.WRITE_OFF, "No booking’s: write it off"),
            ]
        ordered = order_paid_by(line)
        voucher = [(self.VOUCHER, "A payment for the voucher that its reference names: issue one worth this amount")]
        return [
            *(voucher if ordered else []),
            (self.MATCH, "A payment for this booking"),
            (self.RETURN, "I have sent it back to whoever paid"),
            (self.PAYOUT, "The card provider passing on what was paid by card"),
            (self.WRITE_OFF, "Nobody can find out whose it is: write it off"),
        ]

    def layout(self) -> Layout:
        return Layout("what", "code", "fee", "reason", SETTLE)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if cleaned.get("what") == self.MATCH:
            cleaned["booking"] = self._booking(cleaned.get("code", ""))
        elif cleaned.get("what") not in (None, self.VOUCHER) and not cleaned.get("reason"):
            self.add_error("reason", SAY_WHY)
        if cleaned.get("fee") and cleaned.get("what") != self.PAYOUT:
            self.add_error("fee", "Only the card provider keeps a fee of what it passes on.")
        return cleaned

    def _booking(self, typed: str) -> Booking | None:
        code = read_short_code(typed)
        booking = Booking.objects.filter(code=code).first() if code else None
        if booking is None:
            self.add_error("code", "There is no booking with this code.")
        return booking


class PaymentForm(HelpedForm):
    """Money that came in for a booking. `key` makes the form sent twice one payment."""

    MEANS = (("cash", "Cash or card, at the meeting point"), ("bank", "Bank transfer"))
    key = forms.CharField(max_length=40, widget=forms.HiddenInput, initial=new_secret)
    into = forms.ChoiceField(label="How", choices=MEANS, widget=forms.RadioSelect, initial="cash")
    amount = AmountField(label="Amount")

    def layout(self) -> Layout:
        return Layout("key", "into", "amount", Submit("send", "Note the payment"))


class MeetingPointForm(PaymentForm):
    """The same for a guide, who takes no bank transfers."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        cast(forms.ChoiceField, self.fields["into"]).choices = self.MEANS[:1]


class WhyForm(HelpedForm):
    """Why somebody does what cannot be undone."""

    within_a_form = True

    reason = forms.CharField(max_length=120, help_text=WITHOUT_NAMES)

    def layout(self) -> Layout:
        return Layout("reason")


PAID_OUT_BY = (
    ("bank", "Bank transfer"),
    ("cash", "Cash, or back to the card at the terminal"),
    ("card", "Back to the card, on the provider’s page"),
)


class RefundForm(HelpedForm):
    """That a refund was paid out."""

    key = forms.CharField(max_length=40, widget=forms.HiddenInput, initial=new_secret)
    out_of = forms.ChoiceField(
        label="Paid out by",
        choices=PAID_OUT_BY,
        widget=forms.RadioSelect,
    )
    amount = AmountField(label="Amount")

    def layout(self) -> Layout:
        return Layout("key", "out_of", "amount", Submit("send", "It has been paid"))


class InvoiceForm(HelpedForm):
    """To whom an invoice or a receipt is made out."""

    buyer = forms.CharField(
        label="Name and address on it",
        max_length=400,
        help_text="As it is to be printed. It cannot be changed afterwards",
        widget=forms.Textarea(attrs={"rows": 4, "autocomplete": "off"}),
    )

    def layout(self) -> Layout:
        return Layout(
            "buyer", Submit("invoice", "Make an invoice"), Submit("receipt", "Make a receipt", css_class="quiet")
        )
