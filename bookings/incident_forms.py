"""Forms of the incident log."""

from __future__ import annotations

from datetime import datetime
from typing import Any, cast
from uuid import uuid4

from crispy_forms.layout import Fieldset, Layout, Submit
from django import forms

from bookings.models import Incident, IncidentPerson, Person
from bookings.services.report_incident import Report, ToDo
from foraywright.floor.models import User
from walks.form_base import HelpedForm, day_input
from walks.models import Walk

AREA = forms.Textarea(attrs={"rows": 4})


class ToDoForm(HelpedForm):
    """What is to be done so that it does not happen again."""

    what = forms.CharField(
        label="What is to be done",
        max_length=140,
        help_text="Printed in the risk assessments of the site: write no names and nothing of anybody’s health",
    )
    owner = forms.ModelChoiceField(User.objects.filter(is_active=True), label="Who sees to it")
    due = forms.DateField(label="By", widget=day_input())

    def layout(self) -> Layout:
        return Layout("what", "owner", "due", Submit("add", "Add this follow-up"))

    def to_do(self) -> ToDo:
        """The follow-up that the form says."""
        return ToDo(**self.cleaned_data)


class IncidentForm(HelpedForm):
    """The report of an incident."""

    kind = forms.ChoiceField(label="What was it?", choices=Incident.Kind.choices, widget=forms.RadioSelect)
    at = forms.DateTimeField(
        label="When",
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
        help_text="By the clock at the site",
    )
    place = forms.CharField(label="Where on the ground", max_length=200)
    happened = forms.CharField(label="What happened", widget=AREA, help_text="What was seen and heard, not whose fault")
    done = forms.CharField(label="What was done", widget=AREA)
    people = forms.MultipleChoiceField(
        label="Participants who had a part in it", required=False, widget=forms.CheckboxSelectMultiple
    )
    staff = forms.CharField(label="Guides or helpers", required=False, max_length=200, help_text="Names, with commas")
    others = forms.CharField(label="Anybody else", required=False, max_length=200, help_text="Names, with commas")

    form_key = forms.UUIDField(widget=forms.HiddenInput, required=False, initial=uuid4)

    def __init__(self, *args: Any, walk: Walk, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.zone = walk.site.clock
        people = Person.objects.filter(places__walk=walk, places__given_back_at=None).select_related("party__contact")
        self.known = {one.public_id: one for one in people.distinct().order_by("pk")}
        field = cast(forms.MultipleChoiceField, self.fields["people"])
        field.choices = [(key, one.name or f"With {one.party.contact.name}") for key, one in self.known.items()]

    def layout(self) -> Layout:
        who = Fieldset("Who (kept encrypted)", "people", "staff", "others")
        return Layout("form_key", "kind", "at", "place", "happened", "done", who, Submit("report", "Keep this report"))

    def clean_at(self) -> datetime:
        return cast(datetime, self.cleaned_data["at"]).replace(tzinfo=self.zone)

    def report(self) -> Report:
        """The report that the form says."""
        data = dict(self.cleaned_data)
        event = data.pop("form_key") or uuid4()
        roles = ((IncidentPerson.Role.STAFF, data.pop("staff")), (IncidentPerson.Role.OTHER, data.pop("others")))
        others = tuple((role, name.strip()) for role, names in roles for name in names.split(",") if name.strip())
        people = tuple(self.known[one] for one in data.pop("people"))
        return Report(event=event, people=people, others=others, **data)
