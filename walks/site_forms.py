"""Forms on sites, permissions and cover."""

from __future__ import annotations

from typing import Any

from crispy_forms.layout import Column, Field, Fieldset, Layout, Row, Submit
from django import forms

from curriculum.queries import vocabulary
from foraywright.floor.compute.folding import folded
from walks.assessments import hazard_library
from walks.compute.closed_seasons import SeasonRefused, seasons_in
from walks.compute.grid_reference import parse_reference
from walks.compute.map_squares import ReferenceRefused
from walks.form_base import day_input, zone_choices
from walks.guide_forms import HelpedForm
from walks.models import InsuranceCover, LandownersPermission, Site

TYPED = ("reference", "ground", "why")
"""Fields of the form that are no columns of Site."""

REFERENCES = (
    "National Grid (SU 387 148), Irish Grid (O 159 346), UTM, MGRS, or latitude and longitude (51.1234, -3.6543)"
)


def _words(character: str) -> list[tuple[str, str]]:
    states = vocabulary().characters[character].states
    return sorted(((key, state.label) for key, state in states.items()), key=lambda one: one[1].casefold())


def _hazards() -> list[tuple[str, str]]:
    return [(one, one.replace("_", " ")) for one in sorted(hazard_library().facts["site_hazards"].words)]


def _date(label: str, help_text: str = "") -> forms.DateField:
    return forms.DateField(label=label, widget=day_input(), help_text=help_text)


def _ticks(choices: Any, label: str) -> forms.MultipleChoiceField:
    return forms.MultipleChoiceField(choices=choices, label=label, required=False, widget=forms.CheckboxSelectMultiple)


class SiteForm(HelpedForm):
    """One site: where people meet, the ground, what it holds, how to get help."""

    name = forms.CharField(max_length=80, help_text="As on the programme, e.g. Marrow Hanger")
    zone = forms.ChoiceField(label="Time zone", choices=zone_choices, initial="Europe/London")
    meeting_point = forms.CharField(max_length=200, help_text="In words, e.g. the east gate, by the notice board")
    reference = forms.CharField(label="Meeting point on the map", max_length=60, help_text=REFERENCES)
    ground = forms.CharField(
        label="Middle of the ground that is walked",
        max_length=60,
        required=False,
        help_text="In the same forms. Staff alone see it. Empty: as the meeting point",
    )
    habitats = _ticks(lambda: _words("habitat"), "Habitats")
    host_trees = _ticks(lambda: _words("host"), "Trees and shrubs that things grow with")
    hazards = _ticks(_hazards, "Hazards found on a visit")
    most_people = forms.IntegerField(
        min_value=1, max_value=200, help_text="That the ground bears at once, guides included"
    )
    step_free = forms.BooleanField(required=False, label="Step-free from the meeting point on")
    going = forms.CharField(max_length=200, required=False, help_text="E.g. 4 km, 80 m of climbing, muddy after rain")
    ascent_m = forms.IntegerField(
        label="Climbing, in metres",
        min_value=0,
        max_value=3000,
        required=False,
        help_text="On the usual way. A recorded route with heights writes it by itself",
    )
    route_is_public = forms.BooleanField(
        required=False,
        label="The drawn route may be shown in public",
        help_text="Otherwise the walk’s page tells only how far and how steep",
    )
    parking = forms.CharField(max_length=200, required=False)
    car_spaces = forms.IntegerField(
        min_value=0, max_value=200, required=False, help_text="For parties, ours left out; empty: nobody counts them"
    )
    most_dogs = forms.IntegerField(
        label="Dogs that may come, on a lead",
        required=False,
        min_value=0,
        max_value=20,
        initial=0,
        help_text="0 for none. Assistance dogs always come and are not counted",
    )
    shares_lifts = forms.BooleanField(
        required=False,
        label="Parties may share lifts to walks here",
        help_text="Adults only, by rough area; details once both agree. Drivers are not checked",
    )
    toilets = forms.CharField(max_length=200, required=False)
    mobile_coverage = forms.ChoiceField(choices=Site.Coverage.choices, initial=Site.Coverage.UNKNOWN)
    emergency_department = forms.CharField(
        label="Nearest emergency department",
        max_length=200,
        required=False,
        help_text="Ask; not every hospital has one",
    )
    emergency_minutes = forms.IntegerField(
        label="Minutes to it by road", min_value=1, max_value=600, required=False, help_text="E.g. 25"
    )
    protected_status = forms.CharField(
        max_length=200,
        required=False,
        help_text="What law or agreement protects, as the owner or the authority names it",
    )
    picking_rules = forms.CharField(
        required=False, max_length=4000, widget=forms.Textarea(attrs={"rows": 3}), help_text="As participants read them"
    )
    why = forms.CharField(
        label="If people would meet elsewhere: why",
        max_length=300,
        required=False,
        help_text="Everybody who booked a walk to come here reads this, and may leave free of charge",
    )

    def __init__(self, *args: Any, site: Site | None = None, **kwargs: Any) -> None:
        self.site = site
        if site is not None:
            kwargs["initial"] = _facts_of(site)
        super().__init__(*args, **kwargs)

    def layout(self) -> Layout:
        where = ["name", "meeting_point", "reference", "ground", "zone"]
        return Layout(
            Fieldset("Where", *where, *(["why"] if self.site else [])),
            Fieldset(
                "What stands there", *(Field(one, wrapper_class="in-columns") for one in ("habitats", "host_trees"))
            ),
            Fieldset("The ground", "most_people", "going", "ascent_m", "step_free", "route_is_public"),
            Fieldset("Hazards", Field("hazards", wrapper_class="in-columns")),
            Fieldset(
                "For those who come", "parking", "car_spaces", "most_dogs", "shares_lifts", "toilets", "mobile_coverage"
            ),
            Fieldset("If something happens", "emergency_department", "emergency_minutes"),
            Fieldset("What may be picked", "protected_status", "picking_rules"),
            Submit("send", "Save the site"),
        )

    def clean_name(self) -> str:
        name: str = self.cleaned_data["name"]
        others = Site.objects.exclude(pk=self.site.pk) if self.site else Site.objects.all()
        if others.filter(folded=folded(name)).exists():
            raise forms.ValidationError(f"There is a site “{name}” already. Choose another name.")
        return name

    def clean_most_dogs(self) -> int:
        return self.cleaned_data["most_dogs"] or 0

    def clean_reference(self) -> str:
        return _read(self.cleaned_data["reference"])

    def clean_ground(self) -> str:
        ground: str = self.cleaned_data["ground"]
        return _read(ground) if ground else ""

    def facts(self) -> dict[str, Any]:
        """The columns of Site that the cleaned form gives."""
        return {field: value for field, value in self.cleaned_data.items() if field not in TYPED}


def _read(typed: str) -> str:
    try:
        parse_reference(typed)
    except ReferenceRefused as refused:
        raise forms.ValidationError(str(refused)) from refused
    return typed


def _facts_of(site: Site) -> dict[str, Any]:
    known = {field: getattr(site, field) for field in SiteForm.base_fields if field not in TYPED}
    return known | {"reference": site.reference_as_typed, "ground": site.ground_as_typed}


class PermissionForm(HelpedForm):
    """A landowner's permission as it was given."""

    granted_by = forms.CharField(
        max_length=120,
        help_text="Who gave it, e.g. the estate office. Staff alone see it; no more of a person than needed",
    )
    valid_from = _date("First day")
    valid_to = _date("Last day")
    days_a_year = forms.IntegerField(
        min_value=1, max_value=366, required=False, help_text="Most days in a calendar year; empty: no limit was set"
    )
    most_people = forms.IntegerField(
        label="Most people at once", min_value=1, max_value=200, help_text="Guides included, e.g. 16"
    )
    closed_seasons = forms.CharField(
        required=False,
        max_length=600,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Parts of every year, one a line, both days included, e.g. 1 March to 31 July, or over the new year",
    )
    conditions = forms.CharField(
        required=False, max_length=4000, widget=forms.Textarea(attrs={"rows": 3}), help_text="E.g. Gates left as found"
    )

    def __init__(self, *args: Any, permission: LandownersPermission | None = None, **kwargs: Any) -> None:
        if permission is not None:
            kwargs["initial"] = {field: getattr(permission, field) for field in self.base_fields}
            kwargs["initial"]["closed_seasons"] = "\n".join(one.words for one in permission.rule.closed)
        super().__init__(*args, **kwargs)

    def layout(self) -> Layout:
        return Layout(
            "granted_by",
            Row(Column("valid_from"), Column("valid_to")),
            Row(Column("days_a_year"), Column("most_people")),
            "closed_seasons",
            "conditions",
            Submit("send", "Save the permission"),
        )

    def clean_closed_seasons(self) -> list[list[str]]:
        try:
            return [one.stored for one in seasons_in(self.cleaned_data["closed_seasons"])]
        except SeasonRefused as refused:
            raise forms.ValidationError(str(refused)) from refused


class CoverForm(HelpedForm):
    """A public liability cover of the business."""

    insurer = forms.CharField(max_length=120)
    policy_number = forms.CharField(max_length=60)
    valid_from = _date("First day")
    valid_to = _date("Last day")
    most_people = forms.IntegerField(
        label="Most participants at once", min_value=1, max_value=200, help_text="As the policy says, e.g. 20"
    )

    def __init__(self, *args: Any, cover: InsuranceCover | None = None, **kwargs: Any) -> None:
        if cover is not None:
            kwargs["initial"] = {field: getattr(cover, field) for field in self.base_fields}
        super().__init__(*args, **kwargs)

    def layout(self) -> Layout:
        return Layout(
            "insurer",
            "policy_number",
            Row(Column("valid_from"), Column("valid_to")),
            "most_people",
            Submit("send", "Save the cover"),
        )


class FileForm(HelpedForm):
    """One file to send to `address`."""

    def __init__(self, *args: Any, address: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper.form_action = address


class RouteForm(FileForm):
    """A recorded route."""

    name = forms.CharField(label="Name of the route", max_length=80, initial="The usual way")
    gpx = forms.FileField(
        label="GPX file",
        help_text="One track, up to 5 MB. Times, device and names in it are not kept",
        widget=forms.FileInput(attrs={"accept": ".gpx"}),
    )

    def layout(self) -> Layout:
        return Layout("name", "gpx", Submit("send", "Keep the route"))


class DocumentForm(FileForm):
    """The landowner's letter."""

    document = forms.FileField(
        label="Letter or photograph of it",
        help_text="PDF, JPEG or PNG, up to 10 MB. Place and camera are taken out of a picture; a PDF is kept as it is",
        widget=forms.FileInput(attrs={"accept": ".pdf,.jpg,.jpeg,.png"}),
    )

    def layout(self) -> Layout:
        return Layout("document", Submit("send", "Attach"))
