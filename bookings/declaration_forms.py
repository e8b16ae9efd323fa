"""The forms in which people declare what a guide should know, and ask for access. What was kept is never said back."""

from __future__ import annotations

from typing import Any

from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML, Div, Fieldset, Layout, Submit
from django import forms

from bookings.forms import NameField
from bookings.ground_rules import rules_in_force
from bookings.models import Person, SaidBy
from bookings.queries import ADULT
from bookings.services.declare import Answers
from foraywright.floor.compute.plain_text import one_line

LONGEST_ANSWER = 600
HEALTH = ("allergies", "conditions", "medicines")


class AnswerField(forms.CharField):
    """A few lines in one's own words; empty for nothing."""

    def __init__(self, label: str, help_text: str = "") -> None:
        too_long = (
            f"At most {LONGEST_ANSWER} characters here. Say what the guide must know and tell the rest when you meet."
        )
        super().__init__(
            label=label,
            help_text=help_text,
            required=False,
            max_length=LONGEST_ANSWER,
            widget=forms.Textarea(attrs={"rows": 2, "autocomplete": "off"}),
            error_messages={"max_length": too_long},
        )


class DeclarationForm(forms.Form):
    """What `person` declares; `own`: whether the person, or the guardian, holds the link themselves."""

    speaks = forms.ChoiceField(
        label="You write this",
        choices=[(SaidBy.SELF, "for yourself"), (SaidBy.CONTACT, "for this person, who knows and agrees")],
        widget=forms.RadioSelect,
        error_messages={"required": "Say whether you write this for yourself or for somebody else."},
    )
    guardian = forms.BooleanField(
        label="I am this child’s parent or guardian, or I have their leave to say this",
        error_messages={"required": "A child’s details are taken from a parent or guardian only: set this mark."},
    )
    allergies = AnswerField("Allergies", "Food, fungi, stings, pollen, plasters: what happens, and what helps.")
    conditions = AnswerField("Conditions the guide should know", "As asthma, diabetes, epilepsy, a heart condition.")
    medicines = AnswerField("Medicines carried", "As an inhaler or an adrenaline pen, and where on you it is.")
    nothing = forms.BooleanField(label="There is nothing of this kind to declare", required=False)
    diet = AnswerField("Food you do not eat", "Only where food is tasted on the walk.")
    emergency_name = NameField("Write whom we should ring if something happens.", label="Whom to ring in an emergency")
    emergency_phone = forms.CharField(
        label="Their phone",
        max_length=30,
        widget=forms.TextInput(attrs={"type": "tel", "autocomplete": "off"}),
        error_messages={"required": "Write the number at which they can be reached on the day."},
    )
    emergency_relation = forms.CharField(
        label="Who that is",
        max_length=60,
        required=False,
        help_text="As mother, partner, friend.",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    photos = forms.ChoiceField(
        label="Pictures of the walk",
        choices=[("no", "Do not show me in them"), ("yes", "I may be seen in them")],
        widget=forms.RadioSelect,
        error_messages={"required": "Say whether you may be seen in pictures of the walk."},
    )
    rules = forms.BooleanField(
        label="I have read the ground rules and keep them",
        error_messages={"required": "Set this mark if you accept the ground rules; without it we cannot take you."},
    )

    def __init__(self, *args: Any, person: Person, own: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.own, self.is_child = own, person.band != ADULT
        for name in self._not_asked():
            del self.fields[name]
        self.helper = self._layout()

    def _not_asked(self) -> list[str]:
        if self.is_child:
            return ["speaks"]
        return ["guardian", "speaks"] if self.own else ["guardian"]

    def _layout(self) -> FormHelper:
        helper = FormHelper()
        helper.attrs = {"novalidate": True, "autocomplete": "off"}
        asked = [name for name in ("speaks", "guardian") if name in self.fields]
        helper.layout = Layout(
            *asked,
            Fieldset("For your safety", *HEALTH, "nothing", css_class="all-optional"),
            Fieldset(
                "In an emergency", "emergency_name", Div("emergency_phone", "emergency_relation", css_class="row")
            ),
            Fieldset("Food and pictures", "diet", "photos"),
            Fieldset("Ground rules", HTML("{% include 'bookings/ground_rules.html' %}"), "rules"),
            Submit("declare", "Keep this"),
        )
        return helper

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        told = any(data.get(name, "").strip() for name in HEALTH)
        if self.data.get("rules_read") != str(rules_in_force().number):
            self.add_error("rules", "The ground rules have changed since this page was made. Read them again.")
        if told and data.get("nothing"):
            self.add_error("nothing", "You wrote something and said there is nothing. Take one of the two away.")
        if not told and not data.get("nothing") and not any(name in self.errors for name in HEALTH):
            self.add_error("nothing", "Write what the guide should know, or set this mark if there is nothing.")
        return data

    def said_by(self) -> SaidBy:
        """In what part the form was filled in."""
        if self.is_child:
            return SaidBy.GUARDIAN
        return SaidBy.SELF if self.own else SaidBy(self.cleaned_data["speaks"])

    def answers(self) -> Answers:
        """The answers that a valid form stands for."""
        data = self.cleaned_data
        texts = {name: data[name].strip() for name in (*HEALTH, "diet")}
        contact = {name: one_line(data[name]) for name in ("emergency_name", "emergency_phone", "emergency_relation")}
        return Answers(**texts, **contact, photos=data["photos"] == "yes")


class TakenDownForm(DeclarationForm):
    """The same, written down by one of ours as it is told: of a child by its guardian only."""

    guardian = forms.BooleanField(
        label="Their parent or guardian tells you this, or gave leave to say it",
        error_messages={"required": "A child’s details are taken from a parent or guardian only: set this mark."},
    )
    photos = forms.ChoiceField(
        label="Pictures of the walk",
        choices=[("no", "Not to be seen in them"), ("yes", "May be seen in them")],
        widget=forms.RadioSelect,
        error_messages={"required": "Ask whether they may be seen in pictures of the walk."},
    )
    rules = forms.BooleanField(
        label="They know the ground rules and keep them",
        error_messages={"required": "Read them the ground rules; without their word nobody can come."},
    )

    def __init__(self, *args: Any, person: Person, office: bool, **kwargs: Any) -> None:
        self.office = office
        super().__init__(*args, person=person, own=False, **kwargs)

    def _not_asked(self) -> list[str]:
        return ["speaks"] if self.is_child else ["speaks", "guardian"]

    def said_by(self) -> SaidBy:
        if self.is_child:
            return SaidBy.GUARDIAN
        return SaidBy.OFFICE if self.office else SaidBy.GUIDE


class AccessForm(forms.Form):
    """What somebody needs to be able to come."""

    need = forms.CharField(
        label="What you need to be able to come",
        max_length=LONGEST_ANSWER,
        widget=forms.Textarea(attrs={"rows": 3, "autocomplete": "off"}),
        help_text="As a seat at each stop, a path without stiles, somebody who signs. A person of ours answers you.",
        error_messages={"required": "Write what you need."},
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = FormHelper()
        self.helper.attrs = {"novalidate": True}
        self.helper.add_input(Submit("ask", "Ask us", css_class="quiet"))


class AccessAnswerForm(forms.Form):
    """The answer to an access need."""

    answer = forms.CharField(
        label="Your answer",
        max_length=LONGEST_ANSWER,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="The party and the guides read it, with your name. Say what you can do and what not.",
        error_messages={"required": "Say what you can do and what not."},
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = FormHelper()
        self.helper.attrs = {"novalidate": True}
        self.helper.add_input(Submit("send", "Answer under my name"))
