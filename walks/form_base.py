"""What the forms of the room share."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any
from zoneinfo import available_timezones

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Column, Layout, Row
from django import forms

from foraywright.floor.refusals import Refusal


class HelpedForm(forms.Form):
    """A form with its layout and the means to show a refusal at the field that it speaks of."""

    within_a_form = False
    """Whether the template has the form's tag and its button: a form within a form leaves the button to neither."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = FormHelper()
        self.helper.attrs = {"novalidate": ""}
        self.helper.form_tag = not self.within_a_form
        self.helper.layout = self.layout()

    def layout(self) -> Layout:
        """The fields in their order, with the button."""
        raise NotImplementedError

    def show(self, refused: Refusal) -> None:
        """Put the refusal at its field, or above the form."""
        self.add_error(refused.field if refused.field in self.fields else None, refused.sentence)

    def show_fields(self, fields: Mapping[str, Sequence[str]]) -> None:
        """Put sentences at the fields that they speak of, and the rest above the form."""
        for field, sentences in fields.items():
            for sentence in sentences:
                self.add_error(field if field in self.fields else None, sentence)


class FilterForm(HelpedForm):
    """What a list is narrowed to. Everything stands in the address, so no field of it may be personal."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper.form_method = "get"
        self.helper.form_class = "filters all-optional"
        self.helper.disable_csrf = True


def zone_choices() -> list[tuple[str, str]]:
    """Every time zone, after none: where the one that is kept is known no more, nobody keeps another unawares."""
    return [("", "Choose a time zone"), *((one, one) for one in sorted(available_timezones()))]


def pair(left: str, right: str) -> Row:
    """Two fields side by side where there is room."""
    return Row(Column(left, css_class="col-md"), Column(right, css_class="col-md"))


def day_input() -> forms.DateInput:
    """A date field of the browser; it takes and gives dates as ISO 8601 writes them, whatever the locale."""
    return forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
