"""The forms of groups: what a school or club asks, and what it is quoted."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from crispy_forms.layout import Div, Field, Fieldset, Layout, Submit
from django import forms

from bookings.forms import AddressField, NameField, PeopleField, child_field
from bookings.models import Booking, GroupEnquiry, GroupQuote
from bookings.money_forms import AmountField
from bookings.queries import ADULT
from bookings.services.orders import MOST_IN_A_PARTY
from walks.compute.age_bands import AgeBand
from walks.form_base import HelpedForm, day_input, pair
from walks.models import Offering


class EnquiryForm(HelpedForm):
    """What a school or club would like."""

    group = forms.CharField(label="School or club", max_length=120)
    dates = forms.CharField(label="Dates that would suit", max_length=300, help_text="E.g. a Tuesday in May, mornings")
    size = forms.IntegerField(label="How many participants", min_value=1, max_value=200, help_text="Leaders left out")
    leaders = forms.IntegerField(
        label="Leaders of your own",
        min_value=0,
        max_value=50,
        help_text="In charge of the children all the time",
    )
    ages = forms.CharField(label="Ages on the day", max_length=120, help_text="E.g. 8 and 9, or adults")
    needs = forms.CharField(
        label="What else we should know",
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text="Access, time on the way, what you teach. No names of children and nothing of their health yet",
    )
    name = NameField("Write your name, so that we know whom to answer.", label="Your name")
    email = AddressField("Write your e-mail address: the quote goes there.")
    phone = forms.CharField(required=False, max_length=30, widget=forms.TextInput(attrs={"type": "tel"}))

    def layout(self) -> Layout:
        return Layout(
            Fieldset("The group", "group", pair("size", "leaders"), "ages"),
            Fieldset("What you would like", "dates", "needs"),
            Fieldset("Who asks", "name", "email", "phone"),
            Submit("send", "Ask for a quote"),
        )


class QuoteForm(HelpedForm):
    """The price for a group on one of the walks kept for groups."""

    offering = forms.ModelChoiceField(Offering.objects.none(), label="Walk", empty_label="Choose a walk")
    leaders = PeopleField(label="Leaders of theirs", help_text="In charge of the children; they pay nothing")
    adults = PeopleField(label="Adult participants")
    a_head = AmountField(label="Price of one participant", required=False, help_text="E.g. 12.00, or none")
    flat = AmountField(label="Price of the whole group", required=False, help_text="E.g. 180.00, instead of the other")
    valid_until = forms.DateField(widget=day_input(), help_text="The last day on which it can be accepted")

    def __init__(
        self, *args: Any, bands: Sequence[AgeBand], enquiry: GroupEnquiry, now: datetime, **kwargs: Any
    ) -> None:
        self.bands = bands
        super().__init__(*args, **kwargs)
        for band in bands:
            self.fields[child_field(band)] = PeopleField(label=band.label.capitalize())
        kept = Offering.objects.filter(private=True, state=Offering.State.PUBLISHED, walks__starts_at__gt=now)
        others = Booking.objects.filter(state=Booking.State.CONFIRMED).exclude(quotes__enquiry=enquiry)
        self.fields["offering"].queryset = kept.exclude(bookings__in=others).distinct()  # type: ignore[attr-defined]

    def layout(self) -> Layout:
        children = Div(*[Field(child_field(band)) for band in self.bands], css_class="row tight all-optional")
        return Layout(
            Fieldset("Which walk", "offering"),
            Fieldset("Who comes", Div("leaders", "adults", css_class="all-optional"), children),
            Fieldset("Price, VAT included", Div(pair("a_head", "flat"), css_class="all-optional"), "valid_until"),
            Submit("send", "Make the quote"),
        )

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if bool(data.get("a_head")) == bool(data.get("flat")) and not {"a_head", "flat"} & set(self.errors):
            self.add_error("a_head", "Give one price: of one participant, or of the whole group.")
        bands = self.band_words()
        if not 0 < len(bands) + (data.get("leaders") or 0) <= MOST_IN_A_PARTY or not bands:
            self.add_error(None, f"A group has at least one participant and at most {MOST_IN_A_PARTY} people in all.")
        return data

    def band_words(self) -> list[str]:
        """One band a participant."""
        data = self.cleaned_data
        children = [band.key for band in self.bands for _ in range(data.get(child_field(band)) or 0)]
        return [ADULT] * (data.get("adults") or 0) + children

    def quote(self, enquiry: GroupEnquiry) -> GroupQuote:
        """The quote that a valid form stands for, not yet saved."""
        data = self.cleaned_data
        return GroupQuote(
            enquiry=enquiry,
            offering=data["offering"],
            leaders=data["leaders"],
            bands=self.band_words(),
            a_head_minor=data["a_head"] or None,
            flat_minor=data["flat"] or None,
            valid_until=data["valid_until"],
        )
