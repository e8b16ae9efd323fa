"""Forms of the room of walks."""

from __future__ import annotations

from crispy_forms.layout import Fieldset, Layout, Submit
from django import forms

from walks.errors import WalkNotScheduled
from walks.form_base import HelpedForm
from walks.models import Theme
from walks.services.schedule_walk import Plan
from walks.session_forms import SessionForm


class ScheduleWalkForm(SessionForm):
    """One walk: site, date and time, guides and theme. Everything else follows from these."""

    theme = forms.ModelChoiceField(Theme.objects.all(), empty_label="Choose a theme")
    title = forms.CharField(max_length=80, required=False, help_text="Empty: the theme's name. E.g. The bare wood")
    fewest = forms.IntegerField(
        label="Fewest people", initial=4, min_value=1, max_value=30, help_text="Below this it may not run, e.g. 4"
    )

    def layout(self) -> Layout:
        return Layout(
            Fieldset("What", "theme", "title"),
            *self.where_when_who("fewest"),
            Submit("send", "Schedule as a draft"),
        )

    def plan(self) -> Plan:
        """The plan that the cleaned form describes."""
        theme = self.cleaned_data["theme"]
        title = self.cleaned_data["title"] or theme.name
        return Plan(title, theme, (self.session(),), lead=theme.lead, fewest=self.cleaned_data["fewest"])

    def show(self, refused: WalkNotScheduled) -> None:  # type: ignore[override]
        self.show_fields(refused.fields)


class CallOffForm(HelpedForm):
    """The reason for calling a walk off, as everybody who booked will read it."""

    within_a_form = True

    why = forms.CharField(
        label="Why it is called off",
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Everybody who booked reads this, e.g. Gusts of 45 mph are forecast under old beeches.",
    )

    def layout(self) -> Layout:
        return Layout("why")
