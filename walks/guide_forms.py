"""Forms on guides: what they may lead, their certificates, the days on which they are away."""

from __future__ import annotations

from typing import Any

from crispy_forms.layout import Fieldset, Layout, Submit
from django import forms

from foraywright.floor.models import User
from walks.form_base import HelpedForm, day_input, pair
from walks.models import Guide, GuideCertificate, MayLead


class GuideForm(HelpedForm):
    """One guide. Certificates and absences have forms of their own."""

    name = forms.CharField(max_length=80, help_text="As on the programme, e.g. Wren Aldous")
    phone = forms.CharField(max_length=30, required=False, help_text="On the register, never in public")
    about = forms.CharField(max_length=300, required=False, help_text="One sentence for the programme")
    may_lead = forms.MultipleChoiceField(
        choices=MayLead.choices,
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="Asked of whoever leads a walk. Nothing ticked: goes along and helps, but does not lead",
    )
    largest_group = forms.IntegerField(
        min_value=1, max_value=60, required=False, help_text="Most participants this guide takes, e.g. 12"
    )
    days_a_week = forms.IntegerField(
        min_value=1, max_value=7, initial=5, help_text="Most days out from Monday to Sunday, e.g. 4"
    )
    adult = forms.BooleanField(
        label="Is 18 or over", required=False, initial=True, help_text="A young helper never counts in a ratio"
    )
    active = forms.BooleanField(
        label="Can be chosen for new walks", required=False, initial=True, help_text="Untick when somebody leaves"
    )
    user = forms.ModelChoiceField(
        User.objects.filter(groups__name="guide").order_by("username"),
        label="Login",
        required=False,
        empty_label="No login",
        help_text="The staff account with which this guide signs in",
    )

    def layout(self) -> Layout:
        return Layout(
            Fieldset("Who", "name", "phone", "about", "user"),
            Fieldset("What", "may_lead", pair("largest_group", "days_a_week"), "adult", "active"),
            Submit("send", "Save the guide"),
        )

    @classmethod
    def of(cls, guide: Guide) -> dict[str, Any]:
        """The first values for a guide who is recorded."""
        return {field: getattr(guide, field) for field in cls.base_fields if field != "user"} | {"user": guide.user}


class CertificateForm(HelpedForm):
    """A certificate with its first and last day."""

    kind = forms.ChoiceField(choices=GuideCertificate.Kind.choices)
    title = forms.CharField(max_length=120, help_text="As on the paper, e.g. Outdoor first aid, 16 hours")
    valid_from = forms.DateField(widget=day_input())
    valid_to = forms.DateField(
        label="Last day in force",
        widget=day_input(),
        help_text="Where the paper names no end, the day on which it is to be looked at again",
    )

    def layout(self) -> Layout:
        return Layout("kind", "title", pair("valid_from", "valid_to"), Submit("send", "Save the certificate"))

    @classmethod
    def of(cls, certificate: GuideCertificate) -> dict[str, Any]:
        """The first values for a certificate that is recorded."""
        return {field: getattr(certificate, field) for field in cls.base_fields}


class AbsenceForm(HelpedForm):
    """Days away. Why is nobody's business here."""

    first_day = forms.DateField(widget=day_input())
    last_day = forms.DateField(widget=day_input())

    def layout(self) -> Layout:
        return Layout(pair("first_day", "last_day"), Submit("send", "Keep these days free"))
