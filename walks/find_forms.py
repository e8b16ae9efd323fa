"""Forms for the finds of a walk."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any
from uuid import uuid4

from crispy_forms.layout import Layout, Submit
from django import forms

from curriculum.models import Taxon
from curriculum.queries import AccountInUse, vocabulary
from walks.finds import DEFAULT_BLUR_M
from walks.form_base import HelpedForm, pair
from walks.models import Find
from walks.services.keep_find import Found

BLURS = [(1000, "1 km"), (10_000, "10 km"), (100, "100 m"), (10, "10 m: the spot itself")]


class FindForm(HelpedForm):
    """One find; a species, or words where nobody could name it."""

    event = forms.UUIDField(widget=forms.HiddenInput)
    taxon = forms.ChoiceField(label="Species", required=False)
    words = forms.CharField(label="Or, not identified: what was seen", max_length=200, required=False)
    count = forms.IntegerField(label="How many", required=False, min_value=1, max_value=1_000_000)
    stage = forms.ChoiceField(required=False, choices=[("", "not noted"), *Find.Stage.choices])
    host = forms.ChoiceField(label="With or on", required=False)
    latitude = forms.FloatField(required=False, min_value=-89, max_value=89, help_text="WGS84 degrees, e.g. 51.1234")
    longitude = forms.FloatField(
        required=False, min_value=-180, max_value=180, help_text="Both empty: somewhere on the ground of the walk"
    )
    blur_m = forms.TypedChoiceField(
        label="Keep the place only to",
        choices=BLURS,
        coerce=int,
        initial=DEFAULT_BLUR_M,
        help_text="Finer is not kept. Rare or protected: take 10 km",
    )

    def __init__(self, *args: Any, accounts: Iterable[AccountInUse], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["event"].initial = uuid4()
        named = [("", "not identified"), *((one.taxon.key, one.account.vernacular("en")) for one in accounts)]
        hosts = ((key, state.label) for key, state in vocabulary().characters["host"].states.items())
        self.fields["taxon"].choices = named  # type: ignore[attr-defined]
        self.fields["host"].choices = [("", "not noted"), *sorted(hosts, key=lambda one: one[1])]  # type: ignore[attr-defined]

    def layout(self) -> Layout:
        """What is entered in the wood first."""
        places = pair("latitude", "longitude")
        submit = Submit("keep", "Keep the find")
        return Layout("event", "taxon", "words", pair("count", "stage"), "host", places, "blur_m", submit)

    def clean(self) -> dict[str, Any]:
        """Half a position is none."""
        cleaned = super().clean() or self.cleaned_data
        if (cleaned.get("latitude") is None) != (cleaned.get("longitude") is None) and not self.errors:
            self.add_error("latitude", "Give latitude and longitude, or neither.")
        return cleaned

    def found(self) -> Found:
        """The find as the act takes it."""
        sent = self.cleaned_data
        given = sent["latitude"] is not None
        return Found(
            event=sent["event"],
            taxon=Taxon.objects.get(key=sent["taxon"]) if sent["taxon"] else None,
            words=sent["words"],
            count=sent["count"],
            stage=sent["stage"],
            host=sent["host"],
            place=(sent["latitude"], sent["longitude"]) if given else None,
            blur_m=sent["blur_m"],
        )


class EffortForm(HelpedForm):
    """Whether the list is complete, and how long and by how many it was looked."""

    complete = forms.BooleanField(
        required=False,
        label="Complete: every species taught that was seen is on it",
        help_text="Only a complete list says that something was not there to be seen",
    )
    minutes = forms.IntegerField(label="Minutes of looking", required=False, min_value=1, max_value=1440)
    people = forms.IntegerField(label="People looking", required=False, min_value=1, max_value=200)

    def layout(self) -> Layout:
        """One short form."""
        return Layout("complete", pair("minutes", "people"), Submit("effort", "Keep the list so"))
