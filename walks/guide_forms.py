"""Forms on guides: what they may lead, their certificates, the days on which they are away."""

from __future__ import annotations

from typing import Any

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Column, Fieldset, Layout, Row, Submit
from django import forms

from foraywright.floor.models import User
from foraywright.floor.refusals import Refusal
from walks.models import Guide, GuideCertificate, MayLead


class HelpedForm(forms.Form):
    """A form with its layout and the means to show a refusal at the field that it speaks of."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = FormHelper()
        self.helper.attrs = {"novalidate": ""}
        self.helper.layout = self.layout()

    def layout(self) -> Layout:
        """The fields in their order, with the button."""
        raise NotImplementedError

    def show(self, refused: Refusal) -> None:
        """Put the refusal at its field, or above the form."""
        self.add_error(refused.field if refused.field in self.fields else None, refused.sentence)


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
            Fieldset("What", "may_lead", _pair("largest_group", "days_a_week"), "adult", "active"),
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
    valid_from = forms.DateField(widget=forms.DateInput(attrs={"type": "date"}))
    valid_to = forms.DateField(
        label="Last day in force",
        widget=forms.DateInput(attrs={"type": "date"}),
        help_text="Where the paper names no end, the day on which it is to be looked at again",
    )

    def layout(self) -> Layout:
        return Layout("kind", "title", _pair("valid_from", "valid_to"), Submit("send", "Save the certificate"))

    @classmethod
    def of(cls, certificate: GuideCertificate) -> dict[str, Any]:
        """The first values for a certificate that is recorded."""
        return {field: getattr(certificate, field) for field in cls.base_fields}


class AbsenceForm(HelpedForm):
    """Days away. Why is nobody's business here."""

    first_day = forms.DateField(widget=forms.DateInput(attrs={"type": "date"}))
    last_day = forms.DateField(widget=forms.DateInput(attrs={"type": "date"}))

    def layout(self) -> Layout:
        return Layout(_pair("first_day", "last_day"), Submit("send", "Keep these days free"))


def _pair(left: str, right: str) -> Row:
    return Row(Column(left, css_class="col-md"), Column(right, css_class="col-md"))
