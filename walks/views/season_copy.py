"""The page on which a season is copied a year forward."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import timedelta
from typing import Any

from crispy_forms.layout import Layout, Submit
from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from foraywright.floor.door import names_act
from foraywright.floor.refusals import Refusal
from walks.form_base import HelpedForm, day_input, pair
from walks.models import Offering
from walks.season_copy import MOST, offerings_of, papers_that_end, plan_of
from walks.services.copy_offering import copy_offering
from walks.services.rehearse import rehearse
from walks.views.guide import staff

A_YEAR = timedelta(days=366)


class SeasonForm(HelpedForm):
    """The season that is copied, by its first and last day."""

    first = forms.DateField(label="From", widget=day_input())
    last = forms.DateField(label="To", widget=day_input(), help_text="At most a year")

    def layout(self) -> Layout:
        return Layout(pair("first", "last"), Submit("preview", "See what stands in the way"))

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        if not self.errors and not timedelta() <= given["last"] - given["first"] <= A_YEAR:
            self.add_error("last", "A season ends after it begins, and lasts a year at most.")
        return given


@names_act("walk.schedule")
@require_http_methods(["GET", "HEAD", "POST"])
def staff_season_copy(request: HttpRequest) -> HttpResponse:
    """Choose a season; see what each counterpart would meet; make drafts of those that are ticked."""
    today = timezone.localdate()
    form = SeasonForm(request.POST or None, initial={"first": today - A_YEAR, "last": today - timedelta(days=1)})
    shown: dict[str, Any] = {}
    if request.method == "POST" and form.is_valid():
        offerings = offerings_of(form.cleaned_data["first"], form.cleaned_data["last"])
        if "copy" in request.POST:
            return _copy(request, [one for one in offerings if one.public_id in request.POST.getlist("walk")])
        shown = _preview(request, offerings)
    return render(request, "walks/staff_season_copy.html", {"form": form} | shown, status=422 if form.errors else 200)


def _preview(request: HttpRequest, offerings: list[Offering]) -> dict[str, Any]:
    plans = [plan_of(one) for one in offerings]
    rehearsed = rehearse(plans, by=staff(request), now=timezone.now())
    return {
        "asked": True,
        "papers": papers_that_end(plans),
        "rows": list(zip(offerings, rehearsed.plans, strict=True)),
        "most": MOST if len(offerings) == MOST else None,
    }


def _copy(request: HttpRequest, offerings: Iterable[Offering]) -> HttpResponse:
    """Each walk is an act of its own: one that is refused now leaves the others standing, and is named."""
    done = 0
    for one in offerings:
        try:
            copy_offering(one, by=staff(request), now=timezone.now())
        except Refusal as refused:
            messages.error(request, f"{one.title}: {refused.sentence}")
        else:
            done += 1
    drafts = "1 draft was" if done == 1 else f"{done} drafts were"
    messages.success(request, f"{drafts} made. Nothing is published: look at each first.")
    return redirect("staff_walks")
