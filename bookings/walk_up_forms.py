"""The form for a party at the meeting point: filled in on a page, or on a device without signal and sent later."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any
from uuid import UUID

from crispy_forms.layout import Div, Fieldset, Submit
from django import forms

from bookings.caller_forms import PostalField
from bookings.forms import AddressField, BookingForm, NameField, child_field
from bookings.ground_rules import rules_in_force
from bookings.models import WalkUp
from bookings.queries import ADULT
from bookings.services.add_walk_up import CameUnbooked
from foraywright.floor.compute.money import as_text
from foraywright.floor.compute.plain_text import one_line
from foraywright.floor.compute.typed_numbers import whole_number
from foraywright.floor.models import PolicyVersion
from walks.compute.age_bands import AgeBand
from walks.models import Offering


class WalkUpForm(BookingForm):
    """As for a party that books; here everybody is named, asked and told face to face."""

    email = AddressField("", required=False)
    address = PostalField(
        "One of phone, e-mail and address is enough. Without the last two no letter reaches them, and a recall of a "
        "sheet only by telephone."
    )
    heard = forms.ChoiceField(
        label="Asked for allergies, conditions and medicines, they said",
        choices=WalkUp.Heard,
        widget=forms.RadioSelect,
        help_text="What they tell is heard and written nowhere here.",
        error_messages={"required": "Ask them, and say how they answered."},
    )
    ring_name = NameField(label="Whom to ring in an emergency", required=False)
    ring_phone = forms.CharField(
        label="Their phone", required=False, max_length=30, widget=forms.TextInput(attrs={"type": "tel"})
    )
    ring_relation = forms.CharField(
        label="Who that is", required=False, max_length=60, help_text="As mother, partner, friend."
    )
    pays = forms.ChoiceField(
        label="How they pay",
        choices=WalkUp.Pays,
        widget=forms.RadioSelect,
        error_messages={"required": "Say how they pay."},
    )

    button = "Add them"
    sells = False
    who = ("names", "name", "phone", "email", "address")

    def __init__(
        self, *args: Any, offering: Offering, bands: Sequence[AgeBand], without_signal: bool = False, **kwargs: Any
    ) -> None:
        self.without_signal = without_signal
        super().__init__(*args, offering=offering, bands=bands, **kwargs)
        self.fields["name"].label = "Who speaks for them"
        self.fields["names"].required = True
        self.fields["names"].error_messages["required"] = "Write everybody’s name: the register counts heads by it."
        self.fields["names"].help_text = "One name a line, adults first, then the children from the youngest."
        self.fields["phone"].help_text = ""
        self.fields["rules"].label = "I read the ground rules to them and said what we keep of them; they agree to both"
        for key, name in ((ADULT, "adults"), *((band.key, child_field(band)) for band in bands)):
            self.fields[name].help_text = f"{as_text(self.prices.price(key), self.prices.currency)} each"

    def _price_fields(self) -> list[Fieldset]:
        ring = Div("ring_phone", "ring_relation", css_class="row")
        safety = Fieldset("For their safety", "heard", Div("ring_name", ring, css_class="all-optional"))
        return [*super()._price_fields(), safety, Fieldset("Payment", "pays")]

    def buttons(self) -> list[Submit]:
        return [Submit("add", self.button)]

    def clean(self) -> dict[str, Any]:
        data = super().clean()
        if not any(data.get(one) for one in ("phone", "email", "address")) and not {"phone", "email"} & set(
            self.errors
        ):
            self.add_error("phone", "Write a phone number, an e-mail or a postal address at which they can be reached.")
        if data.get("heard") == WalkUp.Heard.NOTHING and not (data.get("ring_name") and data.get("ring_phone")):
            self.add_error("ring_name", "That is their declaration: ask whom to ring in an emergency, with the number.")
        return data

    def _rules_have_changed(self) -> bool:
        """Without signal a later version may be in force by now: what counts is which one was read to them."""
        return self._rules_read() is None if self.without_signal else super()._rules_have_changed()

    def _rules_read(self) -> PolicyVersion | None:
        number = whole_number(self.data.get("rules_read", ""))
        found = PolicyVersion.objects.filter(kind=PolicyVersion.Kind.GROUND_RULES)
        return None if number is None else found.filter(number=number).first()

    def _check_names(self, people: int) -> None:
        super()._check_names(people)
        names = len(list(self.name_lines()))
        if 0 < names < people:
            self.add_error("names", f"You wrote {names} of {people} names. Write everybody’s, one a line.")

    def came(self, *, at: datetime) -> CameUnbooked:
        """The party that a valid form stands for, which was there `at` that instant."""
        data = self.cleaned_data
        return CameUnbooked(
            event=data["key"],
            order=replace(self.order(), address="" if data["email"] else data["address"]),
            came_at=at,
            pays=data["pays"],
            heard=data["heard"],
            rules=self._rules_read() or rules_in_force(),
            ring=(data["ring_name"], one_line(data["ring_phone"]), one_line(data["ring_relation"])),
        )

    def clean_key(self) -> UUID:
        """The event of the walk-up."""
        try:
            return UUID(self.cleaned_data["key"])
        except ValueError:
            raise forms.ValidationError("This form came incomplete.") from None
