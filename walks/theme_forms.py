"""The form of a theme."""

from __future__ import annotations

from typing import Any

from crispy_forms.layout import Field, Layout, Submit
from django import forms

from walks.assessments import hazard_library
from walks.form_base import HelpedForm
from walks.models import Theme
from walks.session_forms import taught_accounts


class ThemeForm(HelpedForm):
    """What a walk is about, what is done on it, which accounts it hopes to teach."""

    name = forms.CharField(max_length=80, help_text="As the programme says it, e.g. The bare wood")
    lead = forms.CharField(
        max_length=300, widget=forms.Textarea(attrs={"rows": 2}), help_text="One or two sentences for the programme"
    )
    audience = forms.CharField(max_length=120, required=False, help_text="e.g. beginners, families")
    activities = forms.MultipleChoiceField(
        label="What is done besides walking",
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="The risk assessment follows from it",
    )
    taxa = forms.MultipleChoiceField(
        label="What it hopes to teach",
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="A walk is published when these and their dangerous lookalikes are signed",
    )

    def __init__(self, *args: Any, theme: Theme | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.theme = theme
        words = sorted(set(hazard_library().facts["activities"].words) - {"walk"})
        self.fields["activities"].choices = [(one, one.replace("_", " ")) for one in words]  # type: ignore[attr-defined]
        self.fields["taxa"].choices = taught_accounts()  # type: ignore[attr-defined]

    def layout(self) -> Layout:
        ticks = (Field(one, wrapper_class="in-columns") for one in ("activities", "taxa"))
        return Layout("name", "lead", "audience", *ticks, Submit("send", "Keep the theme"))

    def clean_name(self) -> str:
        name: str = self.cleaned_data["name"]
        other = Theme.objects.filter(name__iexact=name).first()
        if other is not None and other != self.theme:
            raise forms.ValidationError("There is a theme of this name already.")
        return name
