"""The forms of those who book: what was typed is always said back, and nothing typed is lost."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML, Div, Field, Fieldset, Layout, Submit
from django import forms
from django.core.exceptions import ValidationError

from bookings.bring_forms import bring_fields, brought_in
from bookings.compute.prices import PriceList
from bookings.ground_rules import rules_in_force
from bookings.models import Booking, Person
from bookings.price_forms import CodeField, field_of, help_on, spread, too_many
from bookings.queries import ADULT, prices_of
from bookings.services.orders import MOST_IN_A_PARTY, Order
from bookings.voucher_forms import VoucherField
from foraywright.floor.compute.plain_text import one_line
from foraywright.floor.compute.short_codes import read_short_code
from foraywright.floor.ids import new_secret
from walks.compute.age_bands import AgeBand
from walks.compute.arrivals import ArrivalRule
from walks.models import Offering

LONGEST_NAME = 120


class PeopleField(forms.IntegerField):
    """How many people: a whole number from 0 to the most in a party; an empty field is 0."""

    def __init__(self, **kwargs: Any) -> None:
        attrs = {"min": 0, "max": MOST_IN_A_PARTY, "inputmode": "numeric"}
        super().__init__(required=False, widget=forms.NumberInput(attrs=attrs), **kwargs)

    def to_python(self, value: Any) -> int:
        typed = str(value or "").strip()
        try:
            return super().to_python(typed) or 0
        except ValidationError:
            raise ValidationError(f"“{typed[:20]}” is no whole number. Write it in figures, e.g. 2.") from None

    def validate(self, value: int) -> None:
        if value < 0:
            raise ValidationError(f"{value} is less than nobody. Write 0 or more.".replace("-", "−"))
        if value > MOST_IN_A_PARTY:
            raise ValidationError(
                f"A party has at most {MOST_IN_A_PARTY} people, and you wrote {value:,}. Write to us for more."
            )


class NameField(forms.CharField):
    """A person's name on one line."""

    def __init__(self, missing: str = "", **kwargs: Any) -> None:
        super().__init__(
            max_length=LONGEST_NAME,
            error_messages={"required": missing, "max_length": "A name has at most 120 characters here."},
            **kwargs,
        )

    def clean(self, value: Any) -> str:
        return one_line(super().clean(value))


class AddressField(forms.EmailField):
    """An e-mail address; a mistaken one is said back."""

    def __init__(self, missing: str, **kwargs: Any) -> None:
        widget = forms.EmailInput(attrs={"autocomplete": "email"})
        super().__init__(label="E-mail", error_messages={"required": missing}, widget=widget, **kwargs)

    def clean(self, value: Any) -> str:
        try:
            return super().clean(value)
        except ValidationError as refused:
            if not value:
                raise
            raise ValidationError(f"“{value}” is no e-mail address. Write it like pat@example.org.") from refused


class BookingForm(forms.Form):
    """What a party says when it books `offering`; `bands` are the age bands of its ratio policy."""

    name = NameField("Write your name, so that we know who books.", label="Your name")
    email = AddressField(
        "Write your e-mail address: the confirmation goes there.",
        help_text="The confirmation and the link to your booking go there.",
    )
    phone = forms.CharField(
        label="Phone",
        required=False,
        max_length=30,
        widget=forms.TextInput(attrs={"type": "tel", "autocomplete": "tel"}),
        help_text="For the morning of the walk, should we have to call it off.",
    )
    adults = PeopleField(label="Adults", help_text="18 and over")
    guardian = forms.BooleanField(
        label="An adult of this party looks after its children all the time", required=False, initial=True
    )
    names = forms.CharField(
        label="Who is coming",
        required=False,
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text="One name a line, adults first. You can also add them later.",
    )
    rules = forms.BooleanField(
        label="We keep the ground rules",
        error_messages={"required": "Set this mark if you accept the ground rules; without it we cannot take you."},
    )
    discount = CodeField()
    voucher = VoucherField()
    key = forms.CharField(widget=forms.HiddenInput, min_length=20, max_length=40)

    button = "Book these places"
    sells = True
    who: tuple[str, ...] = ("name", "email", "phone", "names")
    agreement: tuple[str, ...] = ("rules",)

    def __init__(
        self, *args: Any, offering: Offering, bands: Sequence[AgeBand], cards: bool = False, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.offering, self.bands, self.cards = offering, bands, cards
        self.fields["name"].widget.attrs["autocomplete"] = "name"
        for band in bands:
            self.fields[child_field(band)] = PeopleField(label=band.label.capitalize())
        self.prices = prices_of(offering)
        self.fields |= concession_fields(self.prices)
        if not self.sells:
            del self.fields["discount"], self.fields["voucher"]
        self.asked = bring_fields(self._rules())
        self.fields.update(self.asked)
        self.order_fields(["adults", *map(child_field, bands), "guardian"])
        self.helper = self._layout()

    def _rules(self) -> list[ArrivalRule]:
        return [walk.arrivals for walk in self.offering.walks.all()]

    def _layout(self) -> FormHelper:
        helper = FormHelper()
        helper.form_action, helper.attrs = "", {"novalidate": True}
        brings = [Fieldset("What you bring", Div(*self.asked, css_class="all-optional"))] if self.asked else []
        children = Div(*[Field(child_field(band)) for band in self.bands], css_class="row tight all-optional")
        helper.layout = Layout(
            "key",
            Fieldset("How many", Div("adults", css_class="all-optional")),
            Fieldset("Children by age on the day of the walk", children, "guardian"),
            Fieldset("Who books", *self.who),
            *brings,
            *self._price_fields(),
            Fieldset("Ground rules", HTML("{% include 'bookings/ground_rules.html' %}"), *self.agreement),
            *self.buttons(),
        )
        return helper

    def _price_fields(self) -> list[Fieldset]:
        lower = [field_of(one) for one in self.prices.concessions]
        concessions = [Fieldset("Lower prices", Div(*lower, css_class="all-optional"))] if lower else []
        if not self.sells:
            return concessions
        show = Submit("price", "Show the price", css_class="quiet", css_id="price-button")
        return [*concessions, Fieldset("Price", Div("discount", "voucher", css_class="all-optional"), show)]

    def buttons(self) -> list[Submit]:
        """What the form can be sent with."""
        by_card = Submit("card", "Hold them and pay by card", css_class="quiet")
        return [Submit("book", self.button), *([by_card] if self.cards else [])]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if "key" in self.errors:
            self.add_error(None, "This form came incomplete. Open the walk’s page again and book from there.")
        if self._rules_have_changed():
            self.add_error("rules", "The ground rules have changed since this page was made. Read them again.")
        if self._counts_are_good():
            bands = self.band_words()
            people = len(bands)
            self._check_size(people)
            self._check_names(people)
            for field, sentence in too_many(self.prices, bands, data):
                self.add_error(field, sentence)
        return data

    def _rules_have_changed(self) -> bool:
        return self.data.get("rules_read", "") not in ("", str(rules_in_force().number))

    def can_be_priced(self) -> bool:
        """Whether enough is filled in for a price. Forgets what is said of other fields: they are not sent yet."""
        self.full_clean()
        counts = (
            "adults",
            "discount",
            "voucher",
            *map(child_field, self.bands),
            *map(field_of, self.prices.concessions),
        )
        for field in set(self.errors) - set(counts):
            del self.errors[field]
        return not self.errors

    def _counts_are_good(self) -> bool:
        return not any(field in self.errors for field in ("adults", *map(child_field, self.bands)))

    def _check_size(self, people: int) -> None:
        if not people:
            self.add_error("adults", "A party needs at least one person. Say how many are coming.")
        if people > MOST_IN_A_PARTY:
            most = f"a party has at most {MOST_IN_A_PARTY}"
            self.add_error("adults", f"That is {people} people; {most}. Write to us for more.")

    def _check_names(self, people: int) -> None:
        names = list(self.name_lines())
        if len(names) > people > 0:
            self.add_error("names", f"You wrote {len(names)} names for a party of {people}. Write one name a line.")
        if any(len(name) > LONGEST_NAME for name in names):
            self.add_error("names", "A name has at most 120 characters here.")

    def band_words(self) -> tuple[str, ...]:
        """One band a person, adults first."""
        children = [band.key for band in self.bands for _ in range(self.cleaned_data[child_field(band)])]
        return (*[ADULT] * self.cleaned_data["adults"], *children)

    def name_lines(self) -> Iterator[str]:
        """The names that were typed, one a line."""
        return (name for line in self.cleaned_data.get("names", "").splitlines() if (name := one_line(line)))

    def order(self) -> Order:
        """The order that a valid form stands for."""
        data = self.cleaned_data
        return Order(
            offering=self.offering,
            name=data["name"],
            email=data["email"],
            phone=one_line(data["phone"]),
            bands=self.band_words(),
            guardian=data["guardian"],
            key=data["key"],
            names=tuple(self.name_lines()),
            brings=brought_in(data),
            concessions=spread(self.prices, self.band_words(), data),
            discount=data.get("discount", ""),
        )


class WaitingForm(BookingForm):
    """The same for a party that joins the waiting list."""

    button = "Join the waiting list"
    sells = False

    def _rules(self) -> list[ArrivalRule]:
        """Nothing is asked of who may never come: cars and dogs are said once places are there."""
        return []


def concession_fields(prices: PriceList) -> dict[str, forms.Field]:
    """A number of people for each concession of the price list, by the field's name."""
    return {
        field_of(one): PeopleField(label=f"Of these: {one.label}", help_text=help_on(one, prices.currency))
        for one in prices.concessions
    }


def child_field(band: AgeBand) -> str:
    """The name of the form's field for children of `band`."""
    return f"age_{band.key}"


def first_values(bands: Sequence[AgeBand], asked: Any) -> dict[str, str]:
    """What a fresh form starts with: the numbers asked for on the walk's page, and a new key."""
    numbers = {name: asked[name][:6] for name in ("adults", *map(child_field, bands)) if asked.get(name)}
    return {"adults": "1", **numbers, "key": new_secret()}


class NamesForm(forms.Form):
    """The names of the people of `booking`; each may stay empty."""

    def __init__(self, *args: Any, booking: Booking, people: Sequence[Person], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for number, person in enumerate(people, start=1):
            self.fields[person.public_id] = NameField(
                label=f"{number}. {person_label(person, booking.offering)}", required=False, initial=person.name
            )
        self.helper = FormHelper()
        self.helper.attrs = {"novalidate": True, "class": "all-optional"}
        self.helper.add_input(Submit("names", "Keep the names", css_class="quiet"))


def band_label(band: str, offering: Offering) -> str:
    """An age band in words: "Adult", "Child, 4 to 8"."""
    labels = {one["key"]: one["label"] for one in offering.ratios.body["bands"]}
    return "Adult" if band == ADULT else f"Child, {labels.get(band, band)}"


def person_label(person: Person, offering: Offering) -> str:
    """A person's age band, or that they lead the group, and the concession that they pay."""
    band = "Leader" if person.is_leader else band_label(person.band, offering)
    concession = prices_of(offering).concession(person.concession)
    return f"{band}, {concession.label}" if concession is not None else band


class FindBookingForm(forms.Form):
    """Who asks for a new link."""

    email = AddressField("Write the e-mail address that the booking was made with.")
    code = forms.CharField(
        label="Booking code",
        help_text="Seven letters and figures, as in K7M 4QX R. It stands in every letter from us.",
        error_messages={"required": "Write the booking code. It stands in every letter from us."},
        widget=forms.TextInput(attrs={"autocomplete": "off", "class": "short-field"}),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = FormHelper()
        self.helper.attrs = {"novalidate": True}
        self.helper.add_input(Submit("find", "Send the link"))

    def clean_code(self) -> str:
        typed = self.cleaned_data["code"]
        code = read_short_code(typed)
        if code is None:
            raise ValidationError(f"“{typed[:20]}” is no booking code: a character is wrong. Look at the letter again.")
        return code
