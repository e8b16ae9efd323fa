"""The forms by which a booking changes: first they show what it means for the money, sent again they do it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, cast

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Div, Field, Fieldset, Layout
from django import forms

from bookings.forms import PeopleField, band_label, child_field, concession_fields
from bookings.models import Booking, Person
from bookings.price_forms import field_of, spread, too_many
from bookings.queries import ADULT, prices_of
from bookings.services.change_party import PartyChange
from foraywright.floor.compute.plain_text import one_line
from foraywright.floor.ids import new_secret
from walks.compute.age_bands import AgeBand
from walks.shown import Listed


class TwoStepForm(forms.Form):
    """A form with a key of its own and the mark of the terms that were shown; without a mark nothing is done yet."""

    key = forms.CharField(widget=forms.HiddenInput, min_length=20, max_length=40)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["key"].initial = new_secret()
        self.helper = FormHelper()
        self.helper.form_tag, self.helper.disable_csrf = False, True


class PartyForm(TwoStepForm):
    """Who of the party does not come, and who comes as well."""

    adults = PeopleField(label="Adults", help_text="18 and over")
    names = forms.CharField(
        label="Their names",
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="One name a line, adults first. You can also add them later.",
    )
    guardian = forms.BooleanField(
        label="An adult of this party looks after its children all the time", required=False, initial=True
    )

    def __init__(
        self, *args: Any, booking: Booking, people: Sequence[Person], bands: Sequence[AgeBand], **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.people, self.bands = people, bands
        for number, person in enumerate(people, start=1):
            who = person.name or f"Person {number}"
            label = f"{who} ({band_label(person.band, booking.offering).lower()}) does not come"
            self.fields[_gone(person)] = forms.BooleanField(label=label, required=False)
        for band in bands:
            self.fields[child_field(band)] = PeopleField(label=band.label.capitalize())
        self.prices = prices_of(booking.offering)
        self.fields |= concession_fields(self.prices)
        self.helper.layout = self._layout()

    def _layout(self) -> Layout:
        children = Div(*[Field(child_field(band)) for band in self.bands], css_class="row tight all-optional")
        adults = Div("adults", css_class="all-optional")
        lower = Div(*[field_of(one) for one in self.prices.concessions], css_class="all-optional")
        return Layout(
            "key",
            Fieldset("Who does not come", *[_gone(one) for one in self.people]),
            Fieldset("Who comes as well", adults, children, lower, "names", "guardian"),
        )

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if not self.errors:
            for field, sentence in too_many(self.prices, self._bands(), data):
                self.add_error(field, sentence)
        if not self.errors and not self.change().remove and not self.change().add:
            self.add_error(None, "Nothing is changed yet: say who does not come, or who comes as well.")
        return data

    def change(self) -> PartyChange:
        """The change that a valid form stands for."""
        data, bands = self.cleaned_data, self._bands()
        names = (one_line(line)[:120] for line in data["names"].splitlines())
        return PartyChange(
            remove=frozenset(one.public_id for one in self.people if data[_gone(one)]),
            add=bands,
            names=tuple(name for name in names if name),
            concessions=spread(self.prices, bands, data),
            guardian=data["guardian"],
        )

    def _bands(self) -> tuple[str, ...]:
        """One band for each who comes as well, adults first."""
        children = [band.key for band in self.bands for _ in range(self.cleaned_data[child_field(band)])]
        return (*[ADULT] * self.cleaned_data["adults"], *children)


def _gone(person: Person) -> str:
    return f"gone_{person.public_id}"


class MoveForm(TwoStepForm):
    """The walk or course to which a booking moves: one of `choices`."""

    to = forms.ChoiceField(
        label="To which walk",
        widget=forms.RadioSelect,
        error_messages={"required": "Choose a walk.", "invalid_choice": "That walk cannot be booked any more."},
    )

    def __init__(self, *args: Any, choices: Sequence[Listed], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        offered = [(one.offering.public_id, _in_words(one)) for one in choices]
        cast(forms.ChoiceField, self.fields["to"]).choices = offered
        self.helper.layout = Layout("key", "to")


def _in_words(one: Listed) -> str:
    start = one.next.start
    return f"{one.offering.title}, {start:%A} {start.day} {start:%B}, {one.next.walk.site.name}"
