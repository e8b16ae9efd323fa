"""Forms on one session, on a course of several, and on what is said of an offering as a whole."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from typing import Any

from crispy_forms.layout import Field, Fieldset, Layout, Submit
from django import forms
from django.http import QueryDict

from curriculum.queries import accounts_in_use
from foraywright.floor.compute.typed_numbers import whole_number
from walks.errors import WalkNotScheduled
from walks.form_base import HelpedForm, day_input, pair
from walks.models import Guide, Offering, Site, Theme
from walks.services.schedule_walk import SHARE_FOR_A_CERTIFICATE, Plan
from walks.services.sessions import Session

MOST_SESSIONS = 20
REPEATED_HOUR = (
    ("", "It comes once (almost always)"),
    ("0", "The first time, before the clocks go back"),
    ("1", "The second time, after the clocks went back"),
)


class SessionForm(HelpedForm):
    """One dated walk: site, date and time, guides."""

    site = forms.ModelChoiceField(Site.objects.all(), empty_label="Choose a site")
    local_date = forms.DateField(label="Date", widget=day_input(), help_text="The day at the site")
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

    def layout(self) -> Layout:
        return Layout(*self.where_when_who())

    def where_when_who(self, *more: str) -> list[Fieldset]:
        """The fields of a session in their groups; `more` fields stand with the people."""
        return [
            Fieldset("Where and when", "site", pair("local_date", "local_time"), pair("minutes", "low_water")),
            Fieldset("Who", "leads", "others", "helpers", *more),
            Fieldset("In the dark", Field("is_night_walk"), "fold"),
        ]

    def session(self, **more: Any) -> Session:
        """The session that the cleaned form describes, with `more` of its fields."""
        given = self.cleaned_data
        leads = given["leads"]
        helpers = [one for one in given["helpers"] if one != leads and one not in given["others"]]
        return Session(
            site=given["site"],
            local_date=given["local_date"],
            local_time=given["local_time"],
            minutes=given["minutes"],
            guides=(leads, *(one for one in given["others"] if one != leads)),
            helpers=tuple(helpers),
            fold=int(given["fold"]) if given["fold"] else None,
            is_night_walk=given["is_night_walk"],
            low_water=given["low_water"],
            **more,
        )

    def show_fields(self, fields: Mapping[str, Sequence[str]]) -> None:
        super().show_fields({"leads" if field == "guides" else field: said for field, said in fields.items()})

    @classmethod
    def of(cls, session: Session) -> dict[str, Any]:
        """The first values for a session that there is."""
        return {
            "site": session.site,
            "local_date": session.local_date,
            "local_time": session.local_time,
            "minutes": session.minutes,
            "low_water": session.low_water,
            "leads": session.guides[0] if session.guides else None,
            "others": session.guides[1:],
            "helpers": session.helpers,
            "is_night_walk": session.is_night_walk,
            "fold": str(session.fold or ""),
        }


class ChangeSessionForm(SessionForm):
    """The same for a session that there is, with the reason that people who booked will read."""

    why = forms.CharField(
        label="Why it changes",
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Everybody who booked reads this, e.g. The track to the wood is closed until spring.",
    )

    def __init__(self, *args: Any, told: bool, **kwargs: Any) -> None:
        self.told = told
        super().__init__(*args, **kwargs)
        if not told:
            del self.fields["why"]

    def layout(self) -> Layout:
        why = [Fieldset("Why", "why")] if self.told else []
        return Layout(*self.where_when_who(), *why, Submit("send", "Change it"))

    @property
    def reason(self) -> str:
        """The reason given; empty where nobody is told."""
        return self.cleaned_data.get("why", "")


class ContentForm(HelpedForm):
    """What the curriculum covers in one session."""

    heading = forms.CharField(max_length=80, required=False, help_text="E.g. Bark and brackets")
    theme = forms.ModelChoiceField(
        Theme.objects.all(), required=False, empty_label="The theme of the course", label="Theme of the session"
    )
    points = forms.CharField(
        label="What is to be learnt",
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 5}),
        help_text="One point a line, e.g. To take a spore print and to read it",
    )
    covers = forms.MultipleChoiceField(
        label="Accounts taught",
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="None ticked: all of the theme’s",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["covers"].choices = taught_accounts()  # type: ignore[attr-defined]

    def layout(self) -> Layout:
        covers = Field("covers", wrapper_class="choices")
        return Layout("heading", "theme", "points", covers, Submit("send", "Keep what it covers"))


def taught_accounts() -> list[tuple[str, str]]:
    """Key and common name of every account that is taught, by name."""
    taught = [one for one in accounts_in_use().values() if one.account.tier]
    return sorted(((one.taxon.key, one.account.vernacular()) for one in taught), key=lambda one: one[1])


class OfferingForm(HelpedForm):
    """What is said of an offering as a whole."""

    theme = forms.ModelChoiceField(Theme.objects.all(), empty_label="Choose a theme")
    title = forms.CharField(max_length=80, help_text="E.g. Four mornings to a first basket")
    lead = forms.CharField(
        max_length=300,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="One or two sentences for the programme; empty: those of the theme",
    )
    fewest = forms.IntegerField(
        label="Fewest people", initial=4, min_value=1, max_value=30, help_text="Below this it may not run, e.g. 4"
    )
    certificate_percent = forms.IntegerField(
        label="Sessions for a certificate of attendance, in percent",
        initial=SHARE_FOR_A_CERTIFICATE,
        min_value=1,
        max_value=100,
        help_text="E.g. 75: three of four sessions",
    )

    def layout(self) -> Layout:
        return Layout(*self.what(), Submit("send", "Save"))

    def what(self) -> list[Fieldset]:
        """The fields in their groups."""
        return [Fieldset("What", "theme", "title", "lead", pair("fewest", "certificate_percent"))]

    @classmethod
    def of(cls, offering: Offering) -> dict[str, Any]:
        """The first values for an offering that there is."""
        return {field: getattr(offering, field) for field in cls.base_fields}


class CourseForm(OfferingForm):
    """The same at the head of a form with sessions."""

    within_a_form = True

    def layout(self) -> Layout:
        return Layout(*self.what())


class CourseSessionForm(SessionForm):
    """One session within a form of several."""

    within_a_form = True

    heading = forms.CharField(
        label="What it is about", max_length=80, required=False, help_text="E.g. Bark and brackets"
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper.disable_csrf = True

    def layout(self) -> Layout:
        return Layout("heading", *self.where_when_who())


class CourseForms:
    """The whole page of a course: its head and its sessions, which buttons add and take away without a script."""

    def __init__(self, sent: QueryDict | None = None) -> None:
        self.head = CourseForm(sent)
        if sent is None:
            self.sessions = [CourseSessionForm(prefix=prefix(n)) for n in range(2)]
        else:
            self.sessions = [CourseSessionForm(sent, prefix=prefix(n)) for n in range(_number(sent))]

    @classmethod
    def after_a_button(cls, sent: QueryDict) -> CourseForms:
        """The page as it was filled in, with one session more or without the one that its button names."""
        typed = [_typed(sent, n) for n in range(_number(sent))]
        drop = whole_number(sent.get("drop", ""))
        if drop is not None and drop < len(typed) and len(typed) > 1:
            del typed[drop]
        elif "add" in sent and len(typed) < MOST_SESSIONS:
            typed.append(_a_week_later(typed[-1]))
        forms_ = cls()
        forms_.head = CourseForm(initial={field: sent.get(field, "") for field in CourseForm.base_fields})
        forms_.sessions = [CourseSessionForm(prefix=prefix(n), initial=one) for n, one in enumerate(typed)]
        return forms_

    @property
    def whole(self) -> bool:
        """Whether every part was filled in rightly; all are looked at, so that all faults are shown at once."""
        return all([self.head.is_valid(), *(one.is_valid() for one in self.sessions)])

    @property
    def has_errors(self) -> bool:
        """Whether something is marked."""
        return any(one.errors for one in (self.head, *self.sessions) if one.is_bound)

    def plan(self) -> Plan:
        """The plan that the cleaned forms describe."""
        given = self.head.cleaned_data
        sessions = tuple(one.session(heading=one.cleaned_data["heading"]) for one in self.sessions)
        return Plan(sessions=sessions, **(given | {"lead": given["lead"] or given["theme"].lead}))

    def show(self, refused: WalkNotScheduled) -> None:
        """Put each sentence of a refusal at its session's field."""
        for number, fields in refused.by_session.items():
            self.sessions[number].show_fields(fields)
        if not refused.by_session:
            self.head.show_fields(refused.fields)


def prefix(number: int) -> str:
    """The prefix of a session's fields, counted from 0."""
    return f"session-{number}"


def _number(sent: QueryDict) -> int:
    return min(whole_number(sent.get("sessions", "")) or 1, MOST_SESSIONS)


def _typed(sent: QueryDict, number: int) -> dict[str, Any]:
    """What was typed into one session, raw."""
    many = ("others", "helpers")
    names = {field: f"{prefix(number)}-{field}" for field in CourseSessionForm.base_fields}
    return {field: sent.getlist(name) if field in many else sent.get(name, "") for field, name in names.items()}


def _a_week_later(typed: Mapping[str, Any]) -> dict[str, Any]:
    try:
        day = (date.fromisoformat(typed["local_date"]) + timedelta(weeks=1)).isoformat()
    except (ValueError, OverflowError):
        day = ""
    return {**typed, "local_date": day, "heading": "", "low_water": ""}
