"""Forms of the room of walks."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Column, Field, Fieldset, Layout, Row, Submit
from django import forms

from walks.errors import WalkNotScheduled
from walks.models import Guide, Site, Theme
from walks.services.schedule_walk import Plan, Session

FIELD_OF = {"guides": "leads"}
REPEATED_HOUR = (
    ("", "It comes once (almost always)"),
    ("0", "The first time, before the clocks go back"),
    ("1", "The second time, after the clocks went back"),
)


class ScheduleWalkForm(forms.Form):
    """One walk: site, date and time, guides and theme. Everything else follows from these."""

    theme = forms.ModelChoiceField(Theme.objects.all(), empty_label="Choose a theme")
    title = forms.CharField(max_length=80, required=False, help_text="Empty: the theme's name. E.g. The bare wood")
    site = forms.ModelChoiceField(Site.objects.all(), empty_label="Choose a site")
    local_date = forms.DateField(
        label="Date", widget=forms.DateInput(attrs={"type": "date"}), help_text="The day at the site"
    )
    local_time = forms.TimeField(
        label="Starts at",
        widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
        help_text="On the clock at the site, e.g. 10:00",
    )
    minutes = forms.IntegerField(label="Lasts, in minutes", initial=180, help_text="E.g. 180 for three hours")
    low_water = forms.TimeField(
        required=False,
        widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
        help_text="On a shore: the time of low water from a tide table, e.g. 11:40",
    )
    leads = forms.ModelChoiceField(
        Guide.objects.filter(active=True), label="Leading guide", empty_label="Choose who leads"
    )
    others = forms.ModelMultipleChoiceField(
        Guide.objects.filter(active=True),
        label="Other guides",
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    helpers = forms.ModelMultipleChoiceField(
        Guide.objects.filter(active=True),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="Helpers count for children, not for the size of the group",
    )
    fewest = forms.IntegerField(
        label="Fewest people", initial=4, min_value=1, max_value=30, help_text="Below this it may not run, e.g. 4"
    )
    is_night_walk = forms.BooleanField(
        label="This is a night walk",
        required=False,
        help_text="A walk that ends after civil twilight is refused unless it is declared here",
    )
    fold = forms.ChoiceField(
        label="If the clocks show that hour twice",
        choices=REPEATED_HOUR,
        required=False,
        help_text="Only for a start in the hour that is repeated in autumn",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = FormHelper()
        self.helper.attrs = {"novalidate": ""}
        self.helper.layout = Layout(
            Fieldset("What", "theme", "title"),
            Fieldset("Where and when", "site", _pair("local_date", "local_time"), _pair("minutes", "low_water")),
            Fieldset("Who", "leads", "others", "helpers", "fewest"),
            Fieldset("In the dark", Field("is_night_walk"), "fold"),
            Submit("send", "Schedule as a draft"),
        )

    def plan(self) -> Plan:
        """The plan that the cleaned form describes."""
        given = self.cleaned_data
        leads = given["leads"]
        helpers = [one for one in given["helpers"] if one != leads and one not in given["others"]]
        session = Session(
            site=given["site"],
            local_date=given["local_date"],
            local_time=given["local_time"],
            minutes=given["minutes"],
            guides=(leads, *(one for one in given["others"] if one != leads)),
            helpers=tuple(helpers),
            fold=int(given["fold"]) if given["fold"] else None,
            is_night_walk=given["is_night_walk"],
            low_water=given["low_water"],
        )
        theme = given["theme"]
        return Plan(given["title"] or theme.name, theme, (session,), lead=theme.lead, fewest=given["fewest"])

    def show(self, refused: WalkNotScheduled) -> None:
        """Put the sentences of a refusal at the fields that they speak of."""
        for field, sentences in refused.fields.items():
            self._add(FIELD_OF.get(field, field), sentences)

    def _add(self, field: str, sentences: Iterable[str]) -> None:
        for sentence in sentences:
            self.add_error(field if field in self.fields else None, sentence)


class CallOffForm(forms.Form):
    """The reason for calling a walk off, as everybody who booked will read it."""

    why = forms.CharField(
        label="Why it is called off",
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Everybody who booked reads this, e.g. Gusts of 45 mph are forecast under old beeches.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = FormHelper()
        self.helper.attrs = {"novalidate": ""}
        self.helper.layout = Layout("why", Submit("send", "Call the walk off", css_class="grave"))


def _pair(left: str, right: str) -> Row:
    return Row(Column(left, css_class="col-md"), Column(right, css_class="col-md"))
