"""The form in which the office books for somebody who calls."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from crispy_forms.layout import Submit
from django import forms

from bookings.forms import AddressField, BookingForm
from bookings.models import CallersConsent
from bookings.services.orders import Order


class PostalField(forms.CharField):
    """Where letters are posted, as it goes on an envelope."""

    def __init__(self, help_text: str) -> None:
        widget = forms.Textarea(attrs={"rows": 4, "autocomplete": "off"})
        super().__init__(label="Postal address", required=False, max_length=300, widget=widget, help_text=help_text)


class CallerForm(BookingForm):
    """The same as for a party that books by itself; an e-mail or a postal address, and how the caller agreed."""

    email = AddressField("", required=False, help_text="Empty: letters are printed here and posted.")
    address = PostalField("Only where there is no e-mail.")
    how = forms.ChoiceField(
        label="How they agreed",
        choices=CallersConsent.How,
        widget=forms.RadioSelect,
        error_messages={"required": "Say how they agreed: your name is kept with it."},
    )

    who = ("name", "email", "address", "phone", "names")
    agreement = ("rules", "how")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["name"].label = "Name of the caller"
        self.fields["rules"].label = "I read the ground rules to them and said what we keep of them; they agree to both"
        rules = "Read the ground rules to them, and say what we keep; without their word nothing can be booked."
        self.fields["rules"].error_messages["required"] = rules

    def buttons(self) -> list[Submit]:
        return [*super().buttons(), Submit("wait", "Put on the waiting list instead", css_class="quiet")]

    def clean(self) -> dict[str, Any]:
        data = super().clean()
        if not data.get("email") and not data.get("address") and "email" not in self.errors:
            self.add_error("address", "Write an e-mail address, or where letters are to be posted.")
        return data

    def order(self) -> Order:
        data = self.cleaned_data
        return replace(super().order(), address="" if data["email"] else data["address"], agreed=data["how"])
