"""Forms on the business itself: its details, its prices and terms, its staff accounts."""

from __future__ import annotations

from collections.abc import Mapping
from types import ModuleType
from typing import Any

from crispy_forms.layout import Fieldset, Layout, Submit
from django import forms
from django.contrib.auth.password_validation import password_validators_help_texts, validate_password
from stdnum import bic, iban

from bookings.compute.refunds import tiers_from
from bookings.services.save_business import set_for_good
from curriculum.queries import jurisdictions
from foraywright.floor.compute.plain_text import one_line
from foraywright.floor.models import Business, User
from foraywright.floor.roles import ROLES
from walks.form_base import HelpedForm, pair, zone_choices

TIERS = 3


class BusinessForm(HelpedForm):
    """Who runs the walks, as pages, letters, sheets and calendars print it."""

    name = forms.CharField(max_length=80)
    strapline = forms.CharField(max_length=160, required=False, help_text="One sentence under the name")
    email = forms.EmailField(label="E-mail")
    phone = forms.CharField(max_length=30, help_text="As people should dial it, e.g. 01632 960 118")
    postal_address = forms.CharField(widget=forms.Textarea(attrs={"rows": 3}))
    jurisdiction = forms.ChoiceField(help_text="Whose emergency numbers and picking law are printed")
    zone = forms.ChoiceField(label="Time zone", choices=zone_choices, initial="Europe/London")
    currency = forms.RegexField(
        r"^[A-Z]{3}$",
        initial="GBP",
        max_length=3,
        help_text="Three capital letters (ISO 4217), e.g. GBP; fixed once money has come",
    )
    bank_details = forms.CharField(
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="As people who pay by transfer need them: account name, sort code, number",
    )
    account_name = forms.CharField(
        max_length=70, required=False, help_text="Whose account it is, as the bank writes it"
    )
    iban = forms.CharField(
        label="IBAN", max_length=42, required=False, help_text="International account number; needed for codes to scan"
    )
    bic = forms.CharField(label="BIC", max_length=11, required=False)
    vat_number = forms.CharField(
        label="VAT number", max_length=20, required=False, help_text="Empty where you are not registered"
    )
    calendar_domain = forms.RegexField(
        r"^[a-z0-9.-]+$",
        max_length=80,
        help_text="Your domain, e.g. walks.example.org. It ends every calendar entry and is never changed",
    )

    def __init__(self, *args: Any, business: Business | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        law = jurisdictions()
        places = [(key, one["name"]) for key, one in law.items() if isinstance(one, Mapping) and "name" in one]
        self.fields["jurisdiction"].choices = places  # type: ignore[attr-defined]
        for name in set_for_good() if business else ():
            self.fields[name].disabled = True

    def clean_iban(self) -> str:
        """Compact; a mistyped one is said back."""
        return _valid(iban, self.cleaned_data["iban"], "IBAN: a digit is wrong or missing")

    def clean_bic(self) -> str:
        """Compact."""
        return _valid(bic, self.cleaned_data["bic"], "BIC: it has 8 or 11 letters and digits")

    def layout(self) -> Layout:
        return Layout(
            Fieldset("Who", "name", "strapline", pair("email", "phone"), "postal_address"),
            Fieldset("Where", "jurisdiction", pair("zone", "currency"), "calendar_domain"),
            Fieldset("Money", "bank_details", "account_name", pair("iban", "bic"), "vat_number"),
            Submit("send", "Keep these details"),
        )


def _valid(standard: ModuleType, typed: str, name: str) -> str:
    if typed and not standard.is_valid(typed):
        raise forms.ValidationError(f"“{typed}” is no {name}.")
    return str(standard.compact(typed))


class RefundsForm(HelpedForm):
    """What comes back when somebody cancels: three steps by days before the walk."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        self.steps = [(f"days_{n}", f"percent_{n}") for n in range(1, TIERS + 1)]
        super().__init__(*args, **kwargs)
        for days, percent in self.steps:
            self.fields[days] = forms.IntegerField(label="Days before, or more", min_value=0, max_value=365)
            self.fields[percent] = forms.IntegerField(label="Per cent back", min_value=0, max_value=100)

    def layout(self) -> Layout:
        return Layout(*(pair(*step) for step in self.steps), Submit("send", "Put these terms in force"))

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        if not self.errors:
            self._refuse_unfair(given)
        return given

    def _refuse_unfair(self, given: Mapping[str, Any]) -> None:
        days = [given[step] for step, _ in self.steps]
        if len(set(days)) < len(days):
            raise forms.ValidationError("Two steps have the same number of days. Give each its own.")
        try:
            tiers_from(self.body())
        except ValueError as fault:
            raise forms.ValidationError(str(fault)) from fault

    def body(self) -> dict[str, Any]:
        """The refund policy that the cleaned form describes."""
        given = self.cleaned_data
        return {"tiers": [{"days": given[days], "percent": given[percent]} for days, percent in self.steps]}


class GroundRulesForm(HelpedForm):
    """What everybody who comes agrees to: one rule a line."""

    rules = forms.CharField(
        label="The rules, one a line",
        max_length=4000,
        widget=forms.Textarea(attrs={"rows": 12}),
        help_text="Short sentences that a child can follow, too",
        error_messages={"required": "Write at least one rule."},
    )

    def layout(self) -> Layout:
        return Layout("rules", Submit("send", "Put these rules in force"))

    def body(self) -> dict[str, Any]:
        """The ground rules that the cleaned form describes."""
        return {"rules": [one_line(rule) for rule in self.cleaned_data["rules"].splitlines() if rule.strip()]}


def _roles() -> forms.MultipleChoiceField:
    return forms.MultipleChoiceField(
        label="Roles",
        choices=[(one, one) for one in ROLES],
        widget=forms.CheckboxSelectMultiple,
        help_text="office: everything but signing accounts; guide: their own walks; reviewer: signs accounts",
    )


WHAT_FOR = "Told when a lost second factor is taken off; for nothing else"


class InviteForm(HelpedForm):
    """A new staff account; whoever it is for sets the password."""

    username = forms.RegexField(r"^[\w.-]+$", max_length=60, label="User name", help_text="Letters, digits, . _ -")
    name = forms.CharField(max_length=80, help_text="As it stands under what they sign")
    email = forms.EmailField(label="E-mail", required=False, help_text=WHAT_FOR)
    roles = _roles()

    def layout(self) -> Layout:
        return Layout("username", "name", "email", "roles", Submit("send", "Make the account and its link"))


class StaffForm(HelpedForm):
    """What an account may do, where its owner is told what happens to it, and whether it is open."""

    email = forms.EmailField(label="E-mail", required=False, help_text=WHAT_FOR)
    roles = _roles()
    active = forms.BooleanField(
        label="The account is open", required=False, help_text="Closed: signed out at once, and no way back in"
    )

    def layout(self) -> Layout:
        return Layout("email", "roles", "active", Submit("send", "Keep this"))


class PasswordForm(HelpedForm):
    """The password of an account that is taken up."""

    password = forms.CharField(
        max_length=200, widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}), strip=False
    )
    again = forms.CharField(
        label="Once more", widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}), strip=False
    )

    def __init__(self, *args: Any, user: User, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.user = user
        self.fields["password"].help_text = " ".join(password_validators_help_texts())

    def layout(self) -> Layout:
        return Layout("password", "again", Submit("send", "Set the password"))

    def clean_password(self) -> str:
        password: str = self.cleaned_data["password"]
        validate_password(password, self.user)
        return password

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        if "password" in given and given["password"] != given.get("again"):
            self.add_error("again", "The two are not the same.")
        return given
