"""Pages of the risk assessment, the weather and the day, as the leading guide uses them."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from bookings.today import what_needs_somebody
from tests.bookings.risk import add_cattle, gwen, sign, state, the_walk
from tests.cast import OFFICE, World
from tests.pages import say_yes
from walks.models import AssessmentDraft, SignedAssessment, WalkStart, WeatherDecision


@pytest.fixture
def morning(world: World) -> datetime:
    return the_walk(world).starts_at - timedelta(hours=1)


@pytest.fixture
def guide(world: World, morning: datetime) -> object:
    client = Client()
    client.force_login(gwen(world))
    with time_machine.travel(morning, tick=False):
        yield client


def address(world: World, name: str, *more: str) -> str:
    return reverse(name, args=[world.offering.public_id, 1, *more])


BRANCH = {
    "title": "Low branch",
    "who": "Tall people: a blow to the head",
    "before_likelihood": "3",
    "before_severity": "4",
    "after_likelihood": "1",
    "after_severity": "4",
    "reason": "",
    "controls": "A guide holds it back.\n",
    "action-TOTAL_FORMS": "1",
    "action-INITIAL_FORMS": "0",
    "action-0-action": "Saw it off",
    "action-0-owner": "office",
    "action-0-due": "2026-10-01",
}


def test_a_hazard_of_ones_own_is_added_signed_and_printed(world: World, guide: Client, morning: datetime) -> None:
    assert guide.post(address(world, "staff_hazard", "new"), BRANCH).status_code == 302
    page = guide.get(address(world, "staff_assessment")).content.decode()
    assert "Low branch" in page
    assert "Saw it off" in page
    mark = state(world, now=morning).mark
    sent = {"role": "leading guide", "read": "on", "mark": mark, "sign": "Sign"}
    assert guide.post(address(world, "staff_assessment"), sent).status_code == 302
    assert "Low branch" in SignedAssessment.objects.get().body


def test_what_is_refused_stays_in_the_form(world: World, guide: Client) -> None:
    answer = guide.post(
        address(world, "staff_hazard", "new"), BRANCH | {"after_severity": "5", "reason": "Typed words"}
    )
    assert answer.status_code == 422
    assert "no rating may be higher than before them" in answer.content.decode()
    assert "Typed words" in answer.content.decode()
    assert "Saw it off" in answer.content.decode()
    assert not AssessmentDraft.objects.exists()


def test_a_hazard_that_the_walk_has_not_is_not_found(world: World, guide: Client) -> None:
    assert guide.get(address(world, "staff_hazard", "fire")).status_code == 404


def test_a_signature_under_what_has_changed_is_refused_with_the_reason(world: World, guide: Client) -> None:
    sent = {"role": "leading guide, ten seasons", "read": "on", "mark": "0" * 64, "sign": "Sign"}
    answer = guide.post(address(world, "staff_assessment"), sent)
    assert answer.status_code == 422
    assert "changed while you read it" in answer.content.decode()
    assert "leading guide, ten seasons" in answer.content.decode()


def test_the_day_from_a_stale_assessment_to_the_start(world: World, guide: Client, morning: datetime) -> None:
    sign(world, now=world.now)
    add_cattle()
    page = guide.get(address(world, "staff_on_the_day")).content.decode()
    assert "Stale" in page
    assert "cattle" in page
    words = {"what_changed": "Cattle in the lower field.", "what_we_do": "We keep to the upper path."}
    assert guide.post(address(world, "staff_on_the_day"), words).status_code == 302
    issued = (morning - timedelta(hours=1)).astimezone(the_walk(world).local_start.tzinfo)
    forecast = {"source": "The service", "issued_at": f"{issued:%Y-%m-%dT%H:%M}", "celsius": "12", "humidity": ""}
    forecast |= {"wind": "6", "gust": "12", "unit": "mph", "lightning": "no", "ice": "none", "forecast": "Enter"}
    assert guide.post(address(world, "staff_weather"), forecast).status_code == 302
    decision = {"decision": "go", "what_we_do": "", "decide": "Record"}
    assert guide.post(address(world, "staff_weather"), decision).status_code == 302
    assert WeatherDecision.objects.get().rules_say == "go"
    say_yes(guide, address(world, "staff_start"))
    assert WalkStart.objects.get().started_at == morning


def test_an_undecided_weather_offers_nothing_but_calling_off(world: World, guide: Client) -> None:
    page = guide.get(address(world, "staff_weather")).content.decode()
    assert 'value="call_off"' in page
    assert 'value="go"' not in page
    answer = guide.post(address(world, "staff_weather"), {"decision": "go", "decide": "Record"})
    assert answer.status_code == 422
    assert not WeatherDecision.objects.exists()


def test_gusts_below_the_mean_wind_are_a_slip(world: World, guide: Client) -> None:
    sent = {"source": "s", "issued_at": "2026-10-03T08:00", "celsius": "12", "wind": "20", "gust": "10", "unit": "mph"}
    answer = guide.post(address(world, "staff_weather"), sent | {"lightning": "no", "ice": "none", "forecast": "Enter"})
    assert answer.status_code == 422
    assert "Gusts are never below the mean wind." in answer.content.decode()


def test_the_front_page_names_what_is_to_be_signed_within_fourteen_days(world: World) -> None:
    start = the_walk(world).starts_at

    def said(at: datetime) -> list[str]:
        return [one.words for one in what_needs_somebody(OFFICE, now=at) if one.words.startswith("The risk assessment")]

    assert said(start - timedelta(days=14, seconds=1)) == []
    soon = start - timedelta(days=14)
    assert said(soon) == ["The risk assessment of “The bare wood” on 3 October 2026 is not signed."]
    sign(world, now=soon)
    assert said(soon) == []
    add_cattle()
    assert said(soon) == ["The risk assessment of “The bare wood” on 3 October 2026 is stale."]


def test_the_office_chooses_the_matrix(world: World, morning: datetime) -> None:
    client = Client()
    client.force_login(world.olive)
    assert client.post(reverse("staff_risk_matrix"), {"matrix": "mil-std-882e"}).status_code == 302
    page = client.get(reverse("staff_risk_matrix")).content.decode()
    assert "as in MIL-STD-882E" in page
    assert state(world, now=morning).draft.matrix == "mil-std-882e"
