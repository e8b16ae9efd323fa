"""Pages for the day of a walk: the weather, what has changed, and the start."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from bookings.coming import coming_on
from bookings.services.start_walk import Readiness, readiness_of, start_walk
from curriculum.queries import accounts_in_use
from foraywright.floor.asking import Question, asks_once
from foraywright.floor.door import names_act, require
from foraywright.floor.telling import telling
from walks.assessment_words import changed_facts
from walks.errors import AdditionNotSigned, WeatherNotDecided
from walks.models import AssessmentDraft, Walk, WalkStart
from walks.risk_forms import AdditionForm, DecisionForm, ForecastForm
from walks.services.add_to_assessment import add_to_assessment
from walks.services.decide_on_weather import IN_WORDS, decide_on_weather, enter_forecast
from walks.views.documents import session_or_404, subject_of
from walks.views.guide import staff
from walks.weather_state import WeatherState, weather_of

STARTING = (
    "It counts as started now, by you, on the assessment, forecast and decision of this moment. "
    "That record stays as it is. Start when the party is together and counted."
)


@names_act("walk.lead")
@require_http_methods(["GET", "HEAD", "POST"])
def staff_on_the_day(request: HttpRequest, public_id: str, number: int) -> HttpResponse:
    """Everything that is looked at before the walk starts; sign an addition here."""
    walk, now = session_or_404(public_id, number), timezone.now()
    require(request, "walk.lead", subject_of(walk))
    form = AdditionForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            add_to_assessment(walk, coming_on(walk, now=now), **form.cleaned_data, by=staff(request), now=now)
        except AdditionNotSigned as refused:
            form.show((refused.happened, *refused.why))
        else:
            messages.success(request, "The addition is signed. What it names is cleared.")
            return redirect("staff_on_the_day", public_id, number)
    context = _day(walk, readiness_of(walk, now=now)) | {"form": form}
    return render(request, "bookings/staff_on_the_day.html", context, status=422 if form.errors else 200)


def _day(walk: Walk, ready: Readiness) -> dict[str, Any]:
    accounts, state = accounts_in_use(), ready.assessment
    return {
        "walk": walk,
        "start": walk.local_start,
        "ready": ready,
        "state": state,
        "weather": ready.weather,
        "verdict": IN_WORDS[ready.weather.rules.verdict],
        "reasons": changed_facts(state.reasons, state.open_reasons, accounts),
        "started": WalkStart.objects.filter(walk=walk).first(),
    }


@names_act("walk.lead")
@require_POST
def staff_start(request: HttpRequest, public_id: str, number: int) -> HttpResponse:
    """Start the walk, or say everything that stands against it."""
    walk = session_or_404(public_id, number)
    require(request, "walk.lead", subject_of(walk))
    back = reverse("staff_on_the_day", args=[public_id, number])
    if page := asks_once(request, Question("Start the walk?", STARTING, "Start the walk", back)):
        return page
    with telling(request, "The walk has started. Count the heads."):
        start_walk(walk, by=staff(request), now=timezone.now())
    return redirect("staff_on_the_day", public_id, number)


@names_act("walk.lead")
@require_http_methods(["GET", "HEAD", "POST"])
def staff_weather(request: HttpRequest, public_id: str, number: int) -> HttpResponse:
    """Enter a forecast, read what the rules say of it, and decide."""
    walk, now = session_or_404(public_id, number), timezone.now()
    require(request, "walk.lead", subject_of(walk))
    state = weather_of(walk, _covers(walk), now=now)
    entered, decided = "forecast" in request.POST, "decide" in request.POST
    form = ForecastForm(request.POST if entered else None, initial={"unit": "mph"})
    decision = DecisionForm(request.POST if decided else None, verdict=state.rules.verdict)
    if entered and form.is_valid():
        enter_forecast(walk, form.forecast(), by=staff(request), now=now)
        return redirect("staff_weather", public_id, number)
    if decided and decision.is_valid() and _decide(request, walk, state, decision):
        return redirect("staff_on_the_day", public_id, number)
    context = {"walk": walk, "start": walk.local_start, "weather": state, "verdict": IN_WORDS[state.rules.verdict]}
    context |= {
        "form": form,
        "decision_form": decision,
        "words": IN_WORDS,
        "past": walk.forecasts.order_by("-entered_at"),
    }
    wrong = bool(form.errors or decision.errors)
    return render(request, "bookings/staff_weather.html", context, status=422 if wrong else 200)


def _covers(walk: Walk) -> str:
    """Whom the assessment in force covers: of the draft where nothing is signed. Two queries at most."""
    signed = walk.assessments.order_by("-number").first()
    draft = None if signed else AssessmentDraft.objects.filter(walk=walk).first()
    return signed.covers if signed else draft.covers if draft else "everybody"


def _decide(request: HttpRequest, walk: Walk, state: WeatherState, form: DecisionForm) -> bool:
    try:
        decide_on_weather(walk, state, **form.cleaned_data, by=staff(request), now=timezone.now())
    except WeatherNotDecided as refused:
        form.show((refused.happened, *refused.why))
        return False
    messages.success(request, "The decision is recorded.")
    return True
