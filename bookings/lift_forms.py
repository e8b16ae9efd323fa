"""What a party says of a lift that it offers or wants."""

from __future__ import annotations

from crispy_forms.layout import Layout, Submit
from django import forms

from bookings.models import LiftShare
from bookings.services.share_lifts import LiftWords
from foraywright.floor.compute.plain_text import one_line
from walks.form_base import HelpedForm, pair


class LiftForm(HelpedForm):
    """An offer or a wish; nobody sees more of it than kind, seats and area until both agree."""

    kind = forms.ChoiceField(
        label="You",
        choices=[("offers", "have seats free"), ("wants", "need a lift")],
        widget=forms.RadioSelect,
        error_messages={"required": "Say whether you have seats free or need a lift."},
    )
    seats = forms.IntegerField(label="Seats", min_value=1, max_value=8, widget=forms.NumberInput(attrs={"min": 1}))
    area = forms.CharField(
        label="Roughly from where", max_length=80, help_text="A town or part of it, as “north of the river”. No address"
    )
    first_name = forms.CharField(label="Your first name", max_length=60)
    shows = forms.ChoiceField(
        label="Once both agree, show the other", choices=LiftShare.Shows, widget=forms.RadioSelect
    )
    adult = forms.BooleanField(
        label="I am an adult of this party",
        error_messages={"required": "Lifts are shared between adults only: an adult of the party sets this mark."},
    )

    def layout(self) -> Layout:
        return Layout("kind", pair("seats", "area"), "first_name", "shows", "adult", Submit("send", "Put on the list"))

    def clean_area(self) -> str:
        return one_line(self.cleaned_data["area"])

    def clean_first_name(self) -> str:
        return one_line(self.cleaned_data["first_name"])

    @property
    def words(self) -> LiftWords:
        """The cleaned form as the act takes it."""
        data = self.cleaned_data
        return LiftWords(data["kind"], data["seats"], data["area"], data["first_name"], data["shows"])
