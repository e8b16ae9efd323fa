"""A walk starts on a signed assessment that holds, a decided forecast, and no hard stop."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime, timedelta
from uuid import uuid4

import pytest

from bookings.coming import coming_on
from bookings.errors import WalkNotStarted
from bookings.services.add_walk_up import add_walk_up
from bookings.services.book_places import book_places
from bookings.services.call_off_walk import call_off_walk
from bookings.services.mark_attendance import Tick, mark_attendance
from bookings.services.start_walk import start_walk
from bookings.services.take_register import take_register
from foraywright.floor.acts import act
from foraywright.floor.models import AuditLine, User
from tests.bookings.race import together
from tests.bookings.risk import add_cattle, decide, gwen, mild, sign, state, the_walk
from tests.bookings.test_walk_ups import came
from tests.cast import World
from walks.errors import LeadNotTaken, WeatherNotDecided
from walks.models import (
    Guide,
    GuideCertificate,
    InsuranceCover,
    LandownersPermission,
    SignedAssessment,
    Site,
    Walk,
    WalkGuide,
    WalkStart,
    WeatherDecision,
)
from walks.services.add_to_assessment import add_to_assessment
from walks.services.decide_on_weather import decide_on_weather, enter_forecast
from walks.services.keep_absence import keep_absence
from walks.services.say_who_guides import say_who_guides
from walks.services.take_the_lead import take_the_lead
from walks.weather_state import weather_of


@pytest.fixture
def morning(world: World) -> datetime:
    """An hour before the start, with everything in order."""
    at = the_walk(world).starts_at - timedelta(hours=1)
    ready(world, at)
    return at


def ready(world: World, at: datetime) -> None:
    sign(world, now=world.now)
    decide(world, now=at)


def start(world: World, at: datetime, by: User | None = None) -> WalkStart:
    return start_walk(the_walk(world), by=by or gwen(world), now=at)


def why_not(world: World, at: datetime, by: User | None = None) -> tuple[str, ...]:
    with pytest.raises(WalkNotStarted) as refused:
        start(world, at, by)
    assert not WalkStart.objects.exists()
    return refused.value.why


def test_it_starts_on_the_papers_that_it_names(world: World, morning: datetime) -> None:
    started = start(world, morning)
    assert started.assessment == SignedAssessment.objects.get()
    assert started.decision == WeatherDecision.objects.get()
    assert (started.name, started.started_at) == ("Gwen", morning)
    assert AuditLine.objects.filter(act="start walk", actor=gwen(world).public_id).exists()


def test_it_starts_once(world: World, morning: datetime) -> None:
    start(world, morning)
    with pytest.raises(WalkNotStarted) as refused:
        start(world, morning)
    assert refused.value.why == ("It is started already.",)


def test_unsigned_and_without_a_forecast_it_does_not_start(world: World) -> None:
    at = the_walk(world).starts_at
    assert why_not(world, at) == (
        "The risk assessment is not signed.",
        "No forecast has been entered. Undecided is never “go”.",
    )


def test_stale_it_does_not_start_and_cleared_it_does(world: World, morning: datetime) -> None:
    add_cattle()
    [reason] = why_not(world, morning)
    assert reason.startswith("The risk assessment is stale (")
    assert "cattle" in reason
    walk, words = the_walk(world), "Cattle in the lower field: we keep to the upper path."
    coming = coming_on(walk, now=morning)
    add_to_assessment(walk, coming, what_changed=words, what_we_do=words, by=gwen(world), now=morning)
    assert start(world, morning)


HARD: dict[str, tuple[Callable[[], object], str]] = {
    "permission": (lambda: LandownersPermission.objects.all().delete(), "ermission"),
    "cover": (lambda: InsuranceCover.objects.all().delete(), "No insurance cover is in force on 3 October"),
    "first aid": (lambda: GuideCertificate.objects.filter(kind="first_aid").delete(), "first-aid"),
    "ratio": (lambda: LandownersPermission.objects.update(most_people=3), "landowner's permission"),
}


@pytest.mark.parametrize("name", sorted(HARD))
def test_hard_stops(name: str, world: World, morning: datetime) -> None:
    book_places(world.order("adult", "adult"), by="participant", now=world.now)
    change, words = HARD[name]
    change()
    assert any(words in reason for reason in why_not(world, morning)), why_not(world, morning)


def test_who_takes_the_place_of_one_who_did_not_come_stops_nothing(world: World, morning: datetime) -> None:
    full = book_places(world.order(*["adult"] * 12), by="participant", now=world.now)
    missing = full.party.people.earliest("pk").public_id
    mark_attendance(the_walk(world), [Tick(uuid4(), missing, "absent", morning)], by=gwen(world), now=morning)
    add_walk_up(the_walk(world), came(world, "adult", came_at=morning), by=gwen(world), now=morning)
    assert start(world, morning)


def test_who_came_over_a_limit_without_signal_stops_the_start(world: World, morning: datetime) -> None:
    book_places(world.order(*["adult"] * 12), by="participant", now=world.now)
    copy = take_register(the_walk(world), by=gwen(world), now=morning).copy
    add_walk_up(the_walk(world), came(world, "adult", came_at=morning), by=gwen(world), now=morning, copy=copy)
    assert any("15 are coming; that is 1 too many" in reason for reason in why_not(world, morning))


def test_too_early_too_late_called_off_or_led_by_somebody_else(world: World, morning: datetime) -> None:
    walk = the_walk(world)
    assert "It is too early: a walk starts from two hours before its time on." in why_not(
        world, walk.starts_at - timedelta(hours=2, seconds=1)
    )
    assert "Its time is over." in why_not(world, walk.ends_at)
    assert why_not(world, morning, by=world.olive) == ("Only the leading guide starts a walk.",)
    call_off_walk(world.offering, why="storm", by=world.olive, now=morning)
    assert "Only a published walk that is not called off starts." in why_not(world, morning)


def test_another_guide_leads_where_the_leading_one_stays_away(world: World, morning: datetime) -> None:
    """Harry signs and decides for himself: nothing that Gwen put her name to is his."""
    harry = world.harry.user
    assert harry is not None
    led, his = the_walk(world).walk_guides.order_by("pk")
    book_places(world.order("adult"), by="participant", now=world.now)
    with pytest.raises(LeadNotTaken, match="Gwen Guide leads, and nobody has said"):
        take_the_lead(his, by=harry, now=morning)
    say_who_guides(led, here=False, by=harry, now=morning)
    keep_absence(world.gwen, morning.date(), morning.date(), by=world.olive, now=morning)
    take_the_lead(his, by=harry, now=morning)
    assert AuditLine.objects.get(act="take the lead").reason == "Harry Guide leads"
    stale, undecided = why_not(world, morning, by=harry)
    assert "leading guide" in stale
    assert undecided == "The leading guide has not decided on the newest forecast."
    assert "Only the leading guide starts a walk." in why_not(world, morning)
    walk, words = the_walk(world), "Gwen did not come, Harry leads and everybody was told."
    coming = coming_on(walk, now=morning)
    add_to_assessment(walk, coming, what_changed=words, what_we_do=words, by=harry, now=morning)
    enter_forecast(walk, mild(morning), by=harry, now=morning)
    seen = weather_of(walk, "everybody", now=morning)
    decide_on_weather(walk, seen, "go", what_we_do="", by=harry, now=morning)
    assert [one.role for one in walk.walk_guides.order_by("pk")] == ["guides", "leads"]
    assert start(world, morning, by=harry).name == "Harry"


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda his: WalkGuide.objects.filter(pk=his.pk).update(role="helps"), "not who helps"),
        (
            lambda his: Guide.objects.filter(pk=his.guide_id).update(may_lead=[]),
            "not recorded as leading walks in the dark",
        ),
        (
            lambda his: GuideCertificate.objects.filter(guide=his.guide_id).update(valid_to=date(2026, 9, 30)),
            "ended on",
        ),
        (lambda his: Guide.objects.filter(pk=his.guide_id).update(user=None), "no account"),
    ],
)
def test_nobody_takes_the_lead_without_the_papers(
    world: World, morning: datetime, change: Callable[[WalkGuide], object], words: str
) -> None:
    led, his = the_walk(world).walk_guides.order_by("pk")
    Walk.objects.update(is_night_walk=True)
    say_who_guides(led, here=False, by=world.olive, now=morning)
    change(his)
    with pytest.raises(LeadNotTaken, match=words):
        take_the_lead(his, by=world.olive, now=morning)
    assert the_walk(world).walk_guides.get(role="leads") == led


def test_a_forecast_that_grew_old_stops_it(world: World, morning: datetime) -> None:
    enter_forecast(the_walk(world), mild(morning, issued_at=morning - timedelta(hours=13)), by=gwen(world), now=morning)
    assert why_not(world, morning) == (
        "The forecast was issued 13 hours ago; older than 12 hours it decides nothing. Undecided is never “go”.",
    )


def test_a_newer_forecast_wants_a_new_decision(world: World, morning: datetime) -> None:
    enter_forecast(the_walk(world), mild(morning), by=gwen(world), now=morning)
    assert why_not(world, morning) == ("The leading guide has not decided on the newest forecast.",)


def test_a_stricter_decision_counts_and_a_looser_one_is_refused(world: World, morning: datetime) -> None:
    decide(world, "call_off", now=morning)
    assert why_not(world, morning) == ("The guide decided to call off.",)
    with pytest.raises(WeatherNotDecided) as refused:
        decide(world, "go", now=morning, ice="patches")
    assert refused.value.why == ("The rules say “go with controls”; a guide may be stricter, never looser.",)
    with pytest.raises(WeatherNotDecided):
        decide(world, "controls", now=morning, lightning=True)
    assert why_not(world, morning) == ("The weather rules say: call off.",)


def test_a_decision_is_of_the_leading_guide_on_the_forecast_that_was_read(world: World, morning: datetime) -> None:
    walk = the_walk(world)
    seen = weather_of(walk, "everybody", now=morning)
    enter_forecast(walk, mild(morning), by=gwen(world), now=morning)
    with pytest.raises(WeatherNotDecided) as refused:
        decide_on_weather(walk, seen, "controls", what_we_do=" ", by=world.olive, now=morning)
    assert refused.value.why == (
        "Another forecast was entered while you read this one.",
        "Write which controls you take.",
        "Only the leading guide of the walk decides.",
    )


@act
def change_the_site() -> str:
    site = Site.objects.select_for_update().get()
    site.hazards = ["cattle"]
    site.save()
    return "changed"


@pytest.mark.database
def test_a_fact_that_changes_while_the_walk_starts_is_seen_or_comes_after(real_world: World) -> None:
    """Whoever comes first: a walk that started did so while what was signed still held."""
    world, at = real_world, the_walk(real_world).starts_at
    ready(world, at)
    starting, changing = together([lambda: start(world, at).pk, change_the_site])
    assert (changing.kind, changing.words) == ("done", "changed")
    assert starting.kind in ("done", "refused"), starting.words
    assert (starting.kind == "done") == WalkStart.objects.exists()
    assert starting.kind == "done" or "stale" in starting.words
    assert state(world, now=at).word == "stale"


@pytest.mark.database
def test_a_fact_that_changes_while_somebody_signs_is_never_signed_unseen(real_world: World) -> None:
    signing, changing = together([lambda: sign(real_world, now=real_world.now).number, change_the_site])
    assert changing.kind == "done"
    assert signing.kind in ("done", "refused"), signing.words
    # `sign` reads the draft itself: where it read after the change, cattle are in what was signed.
    then = state(real_world, now=real_world.now).word
    covered = '"key":"cattle"' in SignedAssessment.objects.get().body if signing.kind == "done" else False
    assert then == ("unsigned" if signing.kind == "refused" else "signed" if covered else "stale")


@pytest.mark.database
def test_two_start_it_at_once_and_it_starts_once(real_world: World) -> None:
    world, at = real_world, the_walk(real_world).starts_at
    ready(world, at)
    outcomes = together([lambda: start(world, at).pk] * 4)
    assert sorted(one.kind for one in outcomes) == ["done", "refused", "refused", "refused"]
    assert WalkStart.objects.count() == 1
