"""Forms on templates: keeping one, and scheduling from it once or again and again."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from crispy_forms.layout import Fieldset, Layout, Submit
from django import forms

from walks.form_base import HelpedForm, day_input, pair
from walks.models import Guide, OfferingTemplate, TemplateSession
from walks.services.schedule_walk import Plan
from walks.services.sessions import Session

MOST_REPEATS = 26


class SaveTemplateForm(HelpedForm):
    """The name under which an offering is kept."""

    name = forms.CharField(max_length=80, help_text="How you will look for it, e.g. Autumn Saturday, Marrow Hanger")

    def layout(self) -> Layout:
        return Layout("name", Submit("send", "Keep as a template"))


class RepeatForm(HelpedForm):
    """When and with whom a template is to be held."""

    first = forms.DateField(label="First date", widget=day_input(), help_text="Of a course: its first session")
    every = forms.TypedChoiceField(
        label="Then again", choices=((7, "every week"), (14, "every second week")), coerce=int, initial=7
    )
    times = forms.IntegerField(
        label="How many times in all", min_value=1, max_value=MOST_REPEATS, initial=1, help_text="1: only once"
    )
    leads = forms.ModelChoiceField(
        Guide.objects.filter(active=True), label="Leading guide", empty_label="Choose who leads"
    )
    others = forms.ModelMultipleChoiceField(
        Guide.objects.filter(active=True), label="Other guides", required=False, widget=forms.CheckboxSelectMultiple
    )
    helpers = forms.ModelMultipleChoiceField(
        Guide.objects.filter(active=True), required=False, widget=forms.CheckboxSelectMultiple
    )

    def layout(self) -> Layout:
        return Layout(
            Fieldset("When", "first", pair("every", "times")),
            Fieldset("Who", "leads", "others", "helpers"),
            Submit("preview", "See what stands in the way"),
        )

    def plans(self, template: OfferingTemplate) -> list[Plan]:
        """One plan for each date that the cleaned form describes, in order."""
        sessions = list(template.sessions.select_related("site", "theme"))
        return [self._plan(template, sessions, first) for first in self._dates()]

    def _dates(self) -> Iterator[date]:
        given = self.cleaned_data
        for number in range(given["times"]):
            yield given["first"] + timedelta(days=given["every"] * number)

    def _plan(self, template: OfferingTemplate, sessions: list[TemplateSession], first: date) -> Plan:
        return Plan(
            title=template.title,
            theme=template.theme,
            sessions=tuple(self._session(one, first) for one in sessions),
            lead=template.lead,
            fewest=template.fewest,
            prices=template.prices,
            certificate_percent=template.certificate_percent,
        )

    def _session(self, one: TemplateSession, first: date) -> Session:
        leads, others = self.cleaned_data["leads"], [*self.cleaned_data["others"]]
        guides = (leads, *(guide for guide in others if guide != leads))
        return Session(
            site=one.site,
            local_date=first + timedelta(days=one.days_after),
            local_time=one.local_time,
            minutes=one.minutes,
            guides=guides,
            helpers=tuple(guide for guide in self.cleaned_data["helpers"] if guide not in guides),
            is_night_walk=one.is_night_walk,
            heading=one.heading,
            theme=one.theme,
            covers=tuple(one.covers),
            points=one.points,
        )
