"""The forms by which the office changes whom it writes to."""

from __future__ import annotations

from typing import Any

from crispy_forms.layout import Layout
from django import forms

from bookings.caller_forms import PostalField
from bookings.forms import AddressField, NameField
from bookings.services.change_contact import NewContact
from walks.form_base import HelpedForm


class AskerForm(HelpedForm):
    """Who asks for a group: quotes go by e-mail alone."""

    within_a_form = True

    name = NameField("Write whom we write to.")
    email = AddressField("Write an e-mail address: the quote goes there.")
    phone = forms.CharField(required=False, max_length=30, widget=forms.TextInput(attrs={"type": "tel"}))

    def layout(self) -> Layout:
        return Layout(*self.fields)

    def contact(self) -> NewContact:
        """What a valid form says."""
        return NewContact(**self.cleaned_data)


class ContactForm(AskerForm):
    """The contact of a booking, with an e-mail address or a postal one."""

    email = AddressField("", required=False, help_text="Empty: letters are printed here and posted.")
    address = PostalField("Only where there is no e-mail.")
    field_order = ("name", "email", "address", "phone")

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if not data.get("email") and not data.get("address") and "email" not in self.errors:
            self.add_error("address", "Write an e-mail address, or where letters are to be posted.")
        return data
