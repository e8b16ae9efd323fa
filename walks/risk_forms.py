"""Forms of the risk assessment, the weather and the start of a walk."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Column, Fieldset, Layout, Row, Submit
from django import forms

from walks.assessment_words import plain
from walks.assessments import hazard_library, risk_matrices
from walks.compute.risk_assessment import AssessedHazard
from walks.compute.risk_edits import HazardEdit
from walks.compute.risk_group import COVERS, Scope
from walks.compute.risk_matrix import RATINGS, Matrix, Score
from walks.compute.risk_rules import Action
from walks.compute.weather import KMH_OF, Forecast, may_decide
from walks.form_base import day_input
from walks.models import WalkForecast, WeatherDecision

MOST_ACTIONS = 12
OWNERS = ("office", "leading guide", "guide", "first-aider", "landowner's contact", "reviewer")


def helper(*layout: Any, tag: bool = True) -> FormHelper:
    """The helper of a form; without `tag` where several forms stand in one <form>."""
    made = FormHelper()
    made.form_tag, made.disable_csrf = tag, not tag
    made.attrs = {"novalidate": ""}
    made.layout = Layout(*layout)
    return made


def lines(text: str) -> tuple[str, ...]:
    """What a person typed one a line, empty lines left out."""
    return tuple(line.strip() for line in text.splitlines() if line.strip())


class ShownFaults(forms.Form):
    """A form that takes the sentences of a refusal."""

    def show(self, sentences: Iterable[str]) -> None:
        """Put each sentence at the head of the form."""
        for sentence in sentences:
            self.add_error(None, sentence)


class HazardForm(ShownFaults):
    """What a person puts to one hazard. `title` and `who` only for one of their own."""

    title = forms.CharField(max_length=120, label="Hazard", help_text="E.g. Low branch over the second stile")
    who = forms.CharField(
        max_length=300, label="Who may be harmed, and how", help_text="E.g. Tall people: a blow to the head"
    )
    before_likelihood = forms.TypedChoiceField(coerce=int, label="Likelihood before the controls")
    before_severity = forms.TypedChoiceField(coerce=int, label="Severity before the controls")
    after_likelihood = forms.TypedChoiceField(coerce=int, label="Likelihood with the controls")
    after_severity = forms.TypedChoiceField(coerce=int, label="Severity with the controls")
    reason = forms.CharField(
        max_length=500,
        required=False,
        label="Why a rating is lower than the library’s",
        help_text="E.g. The leaning ash was felled on 3 March",
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    controls = forms.CharField(
        max_length=4000,
        required=False,
        label="Further controls",
        help_text="One a line. Those of the library stay.",
        widget=forms.Textarea(attrs={"rows": 4}),
    )

    def __init__(self, *args: Any, matrix: Matrix, own: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("before", "after"):
            self._choose(f"{name}_likelihood", matrix.likelihood.label)
            self._choose(f"{name}_severity", matrix.severity.label)
        if not own:
            del self.fields["title"], self.fields["who"]
        named = ("title", "who") if own else ()
        pairs = [Row(Column(f"{one}_likelihood"), Column(f"{one}_severity")) for one in ("before", "after")]
        self.helper = helper(*named, *pairs, "reason", "controls", tag=False)

    def _choose(self, field: str, label: Any) -> None:
        self.fields[field].choices = [(n, f"{n} · {label(n)}") for n in RATINGS]  # type: ignore[attr-defined]

    def edit(self, key: str, hazard: AssessedHazard | None, further: tuple[Action, ...]) -> HazardEdit:
        """The edit that the cleaned form describes; a rating that is as composed is no edit."""
        given = self.cleaned_data
        before = Score(given["before_likelihood"], given["before_severity"])
        after = Score(given["after_likelihood"], given["after_severity"])
        return HazardEdit(
            key=key,
            before=None if hazard and before == hazard.inherent.score else before,
            after=None if hazard and after == hazard.residual.score else after,
            reason=given["reason"].strip(),
            controls=lines(given["controls"]),
            further=further,
            title=given.get("title", ""),
            who=given.get("who", ""),
        )


def initial_of(edit: HazardEdit | None, hazard: AssessedHazard | None) -> dict[str, Any]:
    """What the form of a hazard shows at first: what a person put there, else what is composed."""
    before = (edit and edit.before) or (hazard.inherent.score if hazard else Score(3, 3))
    after = (edit and edit.after) or (hazard.residual.score if hazard else Score(2, 3))
    return {
        "title": edit.title if edit else "",
        "who": edit.who if edit else "",
        "before_likelihood": before.likelihood,
        "before_severity": before.severity,
        "after_likelihood": after.likelihood,
        "after_severity": after.severity,
        "reason": edit.reason if edit else "",
        "controls": "\n".join(edit.controls) if edit else "",
    }


class ActionForm(forms.Form):
    """Something still to do, by whom and by when."""

    action = forms.CharField(max_length=300, required=False, label="Still to do")
    owner = forms.ChoiceField(choices=[(one, one) for one in OWNERS], required=False, label="By whom")
    due = forms.DateField(required=False, label="By", widget=day_input())

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper(Row(Column("action"), Column("owner"), Column("due")), tag=False)


ActionFormSet = forms.formset_factory(ActionForm, extra=1, max_num=MOST_ACTIONS, validate_max=True)


def actions_of(formset: Any) -> tuple[Action, ...]:
    """The actions of a valid formset; a row without words is none."""
    rows = [form.cleaned_data for form in formset if form.cleaned_data.get("action", "").strip()]
    return tuple(Action(one["action"].strip(), one["owner"] or OWNERS[0], _iso(one["due"])) for one in rows)


def _iso(day: date | None) -> str:
    return day.isoformat() if day else ""


def action_rows(edit: HazardEdit | None) -> list[dict[str, Any]]:
    """The rows that the formset shows at first."""
    return [{"action": one.action, "owner": one.owner, "due": one.due} for one in (edit.further if edit else ())]


class GroupForm(ShownFaults):
    """Whom the assessment covers, and what is arranged for access."""

    covers = forms.ChoiceField(choices=COVERS.items(), label="Whom this assessment covers")
    arranged = forms.MultipleChoiceField(
        required=False,
        label="Arranged so that everybody can take part",
        widget=forms.CheckboxSelectMultiple,
        help_text="The arrangement is printed, never who asked for it or why",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        words = hazard_library().facts["access_controls"].words
        named = [(one, plain(one).capitalize()) for one in words]
        self.fields["arranged"].choices = named  # type: ignore[attr-defined]
        self.helper = helper("covers", "arranged", Submit("group", "Compose for this group", css_class="quiet"))

    def scope(self) -> Scope:
        """What the cleaned form describes."""
        return Scope(self.cleaned_data["covers"], tuple(self.cleaned_data["arranged"]))


class SignForm(ShownFaults):
    """A signature under the draft that was read."""

    role = forms.CharField(
        max_length=120, label="You sign as", help_text="What lets you assess this walk, e.g. leading guide, ten seasons"
    )
    read = forms.BooleanField(label="I have read it all, changed what is wrong, and know this ground")
    mark = forms.CharField(widget=forms.HiddenInput)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper("role", "read", "mark", Submit("sign", "Sign the assessment"))


class AdditionForm(ShownFaults):
    """The leading guide's signed addition in the wood."""

    what_changed = forms.CharField(
        max_length=2000, widget=forms.Textarea(attrs={"rows": 3}), help_text="E.g. The lower path is under water"
    )
    what_we_do = forms.CharField(
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="E.g. We keep to the ridge and turn at noon",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper("what_changed", "what_we_do", Submit("addition", "Sign the addition"))


class ForecastForm(ShownFaults):
    """A forecast as a person reads it, for the place and the hours of the walk."""

    source = forms.CharField(max_length=120, label="Whose forecast", help_text="The service, and the place it is for")
    issued_at = forms.DateTimeField(
        label="Issued at",
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
        help_text="On the clock here. Older than 12 hours it decides nothing.",
    )
    celsius = forms.DecimalField(
        label="Temperature, °C",
        min_value=-60,
        max_value=55,
        decimal_places=1,
        help_text="The worst of the walk’s hours",
    )
    humidity = forms.IntegerField(
        label="Relative humidity, %", min_value=0, max_value=100, required=False, help_text="Empty: read as 100"
    )
    wind = forms.DecimalField(label="Mean wind", min_value=0, max_value=250, decimal_places=1)
    gust = forms.DecimalField(
        label="Gusts", min_value=0, max_value=300, decimal_places=1, required=False, help_text="Empty: not given"
    )
    unit = forms.ChoiceField(label="Winds in", choices=[(one, one) for one in KMH_OF])
    lightning = forms.ChoiceField(
        label="Thunder in the hours of the walk", choices=(("no", "Not forecast"), ("yes", "Forecast or possible"))
    )
    ice = forms.ChoiceField(label="Ice on the ground", choices=WalkForecast.Ice.choices)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = helper(
            Fieldset("Which forecast", "source", "issued_at"),
            Fieldset(
                "What it says",
                Row(Column("celsius"), Column("humidity")),
                Row(Column("wind"), Column("gust"), Column("unit")),
                "lightning",
                "ice",
            ),
            Submit("forecast", "Enter this forecast"),
        )

    def clean(self) -> dict[str, Any]:
        given: dict[str, Any] = super().clean() or {}
        wind, gust = given.get("wind"), given.get("gust")
        if wind is not None and gust is not None and gust < wind:
            self.add_error("gust", "Gusts are never below the mean wind.")
        return given

    def forecast(self) -> Forecast:
        """The forecast that the cleaned form describes."""
        given = self.cleaned_data
        factor = KMH_OF[given["unit"]]
        return Forecast(
            celsius=float(given["celsius"]),
            humidity=given["humidity"],
            wind_kmh=float(given["wind"]) * factor,
            gust_kmh=None if given["gust"] is None else float(given["gust"]) * factor,
            lightning=given["lightning"] == "yes",
            ice=given["ice"],
            issued_at=given["issued_at"],
            source=given["source"],
        )


class DecisionForm(ShownFaults):
    """What the leading guide decides on the weather: only what the rules let them decide is offered."""

    decision = forms.ChoiceField(choices=WeatherDecision.Decision.choices, widget=forms.RadioSelect)
    what_we_do = forms.CharField(
        max_length=2000,
        required=False,
        label="Controls that you take",
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="E.g. We stay in the open, and turn back when the tops begin to roar",
    )

    def __init__(self, *args: Any, verdict: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        choices = [(key, label) for key, label in WeatherDecision.Decision.choices if may_decide(key, verdict)]
        self.fields["decision"].choices = choices  # type: ignore[attr-defined]
        self.helper = helper("decision", "what_we_do", Submit("decide", "Record the decision"))


class MatrixForm(forms.Form):
    """The risk matrix of the business."""

    matrix = forms.ChoiceField(label="Read risk off", widget=forms.RadioSelect)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["matrix"].choices = [(k, m.title) for k, m in risk_matrices().items()]  # type: ignore[attr-defined]
        self.helper = helper("matrix", Submit("send", "Use this matrix"))
