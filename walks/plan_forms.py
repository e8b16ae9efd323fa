"""The form that asks for a season plan."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Column, Fieldset, Layout, Row, Submit
from django import forms

from walks.compute.season_plan.facts import Span
from walks.form_base import day_input
from walks.models import Theme
from walks.season_wanted import SATURDAY, SUNDAY, Wanted

DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
HOLIDAY_EXAMPLE = "2027-07-24 to 2027-09-01"
MOST_WALKS = 400


def _date(label: str) -> forms.DateField:
    return forms.DateField(label=label, widget=day_input())


def _count(label: str, initial: int, least: int, most: int, help_text: str = "") -> forms.IntegerField:
    return forms.IntegerField(label=label, initial=initial, min_value=least, max_value=most, help_text=help_text)


class PlanForm(forms.Form):
    """The window, the limits and the wishes; for each theme its fewest and most walks."""

    first = _date("From")
    last = _date("To")
    most_walks = _count("Walks in all, at most", 40, 1, MOST_WALKS, "Published walks and drafts are counted")
    most_a_week = _count("Walks a week, at most", 2, 1, 50)
    weekdays = forms.MultipleChoiceField(
        label="On which days",
        choices=tuple(enumerate(DAYS)),
        initial=[SATURDAY, SUNDAY],
        widget=forms.CheckboxSelectMultiple,
    )
    start = forms.TimeField(
        label="Walks begin at",
        initial="10:00",
        widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
        help_text="Earlier where the light asks for it",
    )
    minutes = _count("They last, in minutes", 180, 15, 720)
    rest = _count("Days between two visits to a site", 7, 1, 60)
    holidays = forms.CharField(
        label="School holidays",
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=f"One span a line, e.g. {HOLIDAY_EXAMPLE}",
    )
    in_holidays = _count("Walks in the school holidays, at least", 0, 0, MOST_WALKS)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.themes = list(Theme.objects.all())
        for theme in self.themes:
            self.fields[f"least_{theme.public_id}"] = _count(f"{theme.name}: at least", 1, 0, 99)
            self.fields[f"most_{theme.public_id}"] = _count("At most", 6, 0, 99)
        self.helper = FormHelper()
        self.helper.attrs = {"novalidate": ""}
        self.helper.layout = Layout(
            Fieldset("When", _pair("first", "last"), _pair("most_walks", "most_a_week"), "weekdays"),
            Fieldset("Each walk", _pair("start", "minutes"), "rest"),
            Fieldset("Themes", *(_pair(f"least_{one.public_id}", f"most_{one.public_id}") for one in self.themes)),
            Fieldset("School holidays", "holidays", "in_holidays"),
            Submit("send", "Ask for the plan"),
        )

    def clean_holidays(self) -> tuple[Span, ...]:
        return tuple(_span(line) for line in self.cleaned_data["holidays"].splitlines() if line.strip())

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        for theme in self.themes:
            least, most = given.get(f"least_{theme.public_id}"), given.get(f"most_{theme.public_id}")
            if least is not None and most is not None and least > most:
                self.add_error(f"most_{theme.public_id}", "This is below “at least”.")
        return given

    def wanted(self) -> Wanted:
        """What the cleaned form asks for."""
        given = self.cleaned_data
        return Wanted(
            most_walks=given["most_walks"],
            most_a_week=given["most_a_week"],
            weekdays=frozenset(int(one) for one in given["weekdays"]),
            rest=given["rest"],
            start=given["start"].hour * 60 + given["start"].minute,
            minutes=given["minutes"],
            themes={
                one.public_id: (given[f"least_{one.public_id}"], given[f"most_{one.public_id}"]) for one in self.themes
            },
            holidays=given["holidays"],
            in_holidays=given["in_holidays"],
        )


def first_dates(today: date) -> dict[str, date]:
    """What the form proposes: a year from next month's first day on."""
    first = (today.replace(day=1) + timedelta(days=32)).replace(day=1)
    return {"first": first, "last": first + timedelta(days=364)}


def _span(line: str) -> Span:
    first, _, last = (part.strip() for part in line.partition(" to "))
    try:
        span = Span(date.fromisoformat(first), date.fromisoformat(last))
    except ValueError as fault:
        raise forms.ValidationError(f"“{line.strip()}” is no span of days. Write it like {HOLIDAY_EXAMPLE}.") from fault
    if span.last < span.first:
        raise forms.ValidationError(f"“{line.strip()}” ends before it begins.")
    return span


def _pair(*names: str) -> Row:
    return Row(*(Column(name) for name in names))
