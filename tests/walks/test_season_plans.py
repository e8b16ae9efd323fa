"""Season plans: asked for, made by the worker, decided of, made again; and the command."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date, time, timedelta
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse

from curriculum.services.load_starter import load_starter
from foraywright.floor.models import AuditLine
from tests.cast import World
from tests.curriculum.garlic import garlic_files
from walks.compute.season_plan.check import broken_rules
from walks.compute.season_plan.facts import Proposal, Span
from walks.errors import PlanNotAsked, ProposalNotDecided
from walks.models import GuideAbsence, LandownersPermission, PlanProposal, SeasonPlan, ThemeTaxon, Walk
from walks.models import Site as SiteRow
from walks.season_inputs import season_of
from walks.season_wanted import Wanted, usual, wanted_from
from walks.services import make_plan as making
from walks.services.ask_for_plan import ask_for_plan
from walks.services.decide_proposal import decide_proposal
from walks.services.make_plan import make_next_plan

FIRST, LAST = date(2026, 9, 15), date(2026, 12, 20)
TAUGHT_ALL_AUTUMN = Wanted(most_walks=4, most_of_a_theme=9, rest=7)
State = PlanProposal.State


@pytest.fixture
def autumn(world: World, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> World:
    """The cast, its theme worth 1,500 on every day, Gwen free but on the walk of the cast."""
    monkeypatch.setattr("walks.season_inputs.mean_chance", lambda *_: 0.75)
    load_starter(garlic_files(tmp_path), by="command", now=world.now)
    for place, key in enumerate(["allium-ursinum", "arum-maculatum"]):
        ThemeTaxon.objects.create(theme=world.theme, taxon_id=_taxon(key), place=place)
    world.harry.may_lead = ["fungus"]
    world.harry.save()
    return world


def _taxon(key: str) -> int:
    from curriculum.models import Taxon

    return Taxon.objects.get(key=key).pk


def asked(world: World, wanted: Wanted = TAUGHT_ALL_AUTUMN, **changes: object) -> SeasonPlan:
    return ask_for_plan(FIRST, LAST, wanted, by=world.olive, now=world.now, **changes)  # type: ignore[arg-type]


def made(world: World, wanted: Wanted = TAUGHT_ALL_AUTUMN, **changes: object) -> SeasonPlan:
    asked(world, wanted, **changes)
    plan = make_next_plan(now=world.now)
    assert plan is not None
    plan.refresh_from_db()
    return plan


def test_what_is_asked_is_kept_word_for_word() -> None:
    wanted = Wanted(3, themes={"x": (1, 2)}, holidays=(Span(FIRST, LAST),), weekdays=frozenset({2}))
    assert wanted_from(json.loads(json.dumps(wanted.stored))) == wanted


def test_the_season_is_read_from_what_is_recorded(autumn: World) -> None:
    GuideAbsence.objects.create(guide=autumn.gwen, first_day=date(2026, 11, 1), last_day=date(2026, 11, 8))
    LandownersPermission.objects.update(closed_seasons=[["12-01", "12-31"]])
    season = season_of(Span(FIRST, LAST), TAUGHT_ALL_AUTUMN)
    gwen = next(one for one in season.guides if one.name == "Gwen Guide")
    assert gwen.absences == (Span(date(2026, 11, 1), date(2026, 11, 8)),)
    assert gwen.leads == {autumn.theme.public_id}
    assert next(one for one in season.guides if one.name == "Harry Guide").leads == frozenset()
    assert [one.day for one in season.fixed] == [date(2026, 10, 3)]
    at = {"site": autumn.wood.public_id, "theme": autumn.theme.public_id, "guide": gwen.key}
    assert broken_rules(season, [Proposal(day=date(2026, 11, 8), **at)]) == [f"absent:{gwen.key}"]
    assert broken_rules(season, [Proposal(day=date(2026, 12, 5), **at)]) == [f"closed:{at['site']}"]
    assert broken_rules(season, [Proposal(day=date(2026, 10, 4), **at)]) == [f"rest:{at['site']}"]
    assert broken_rules(season, [Proposal(day=date(2026, 10, 10), **at)]) == []


def test_a_guide_without_first_aid_is_not_sent_out_alone(autumn: World) -> None:
    autumn.gwen.certificates.filter(kind="first_aid").delete()
    assert made(autumn).proposals.count() == 0


def test_the_worker_makes_it_beside_what_is_published(autumn: World) -> None:
    plan = made(autumn)
    days = list(plan.proposals.values_list("local_date", flat=True))
    assert len(days) == 3
    assert all(day.weekday() in (5, 6) and abs((day - date(2026, 10, 3)).days) >= 7 for day in days)
    assert plan.done_at == autumn.now
    assert (plan.steps_done, plan.steps) == (3, 3)
    assert all(aim["proven"] for aim in plan.result["aims"])
    assert plan.result["unmet"] == []
    assert make_next_plan(now=autumn.now) is None


def test_a_walk_ends_in_the_light(autumn: World) -> None:
    long = replace(TAUGHT_ALL_AUTUMN, minutes=600)
    proposals = list(made(autumn, long).proposals.all())
    assert proposals
    for one in proposals:
        assert one.local_time < time(10)
        decide_proposal(one, "accept", by=autumn.olive, now=autumn.now)


def test_it_says_in_words_what_could_not_be_met(autumn: World) -> None:
    LandownersPermission.objects.update(days_a_year=2)
    wanted = replace(TAUGHT_ALL_AUTUMN, themes={autumn.theme.public_id: (4, 9)})
    (unmet,) = made(autumn, wanted).result["unmet"]
    assert unmet["missing"] == 2
    assert "the days in 2026 that Cast Wood may be used" in unmet["sentence"]


def test_a_fault_is_put_off_and_said(autumn: World, monkeypatch: pytest.MonkeyPatch) -> None:
    plan = asked(autumn)
    monkeypatch.setattr(making, "season_of", lambda *_: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        make_next_plan(now=autumn.now)
    plan.refresh_from_db()
    assert plan.last_error == "ZeroDivisionError"
    assert plan.due_at > autumn.now


def test_a_worker_whose_lease_ran_out_adds_nothing(autumn: World) -> None:
    plan = made(autumn)
    making.make_plan(SeasonPlan.objects.get(pk=plan.pk), now=autumn.now)
    assert plan.proposals.count() == 3


@pytest.mark.parametrize(
    ("first", "last", "why"),
    [(FIRST, FIRST - timedelta(1), "before the first"), (FIRST, FIRST + timedelta(371), "at most one year"),
     (date(2026, 9, 14), LAST, "tomorrow")],
)  # fmt: skip
def test_a_window_that_makes_no_sense_is_refused(world: World, first: date, last: date, why: str) -> None:
    with pytest.raises(PlanNotAsked, match=why):
        ask_for_plan(first, last, usual(first, last), by=world.olive, now=world.now)
    assert not SeasonPlan.objects.exists()


def test_accepting_makes_a_draft_walk(autumn: World) -> None:
    proposal = made(autumn).proposals.first()
    assert proposal is not None
    one = decide_proposal(proposal, "accept", by=autumn.olive, now=autumn.now)
    assert one.offering is not None
    assert one.offering.state == "draft"
    walk = one.offering.walks.get()
    assert (walk.local_date, walk.local_time, walk.site) == (one.local_date, one.local_time, autumn.wood)
    assert [str(out.guide) for out in walk.walk_guides.all()] == ["Gwen Guide"]
    assert AuditLine.objects.filter(act="accept proposal", object_id=one.public_id).exists()
    with pytest.raises(ProposalNotDecided, match="a walk already"):
        decide_proposal(one, "drop", by=autumn.olive, now=autumn.now)
    assert Walk.objects.count() == 2


def test_what_no_longer_can_be_stays_a_proposal_and_says_why(autumn: World) -> None:
    proposal = made(autumn).proposals.first()
    assert proposal is not None
    day = proposal.local_date
    GuideAbsence.objects.create(guide=autumn.gwen, first_day=day, last_day=day)
    with pytest.raises(ProposalNotDecided, match="Gwen Guide is away"):
        decide_proposal(proposal, "accept", by=autumn.olive, now=autumn.now)
    proposal.refresh_from_db()
    assert proposal.state == State.PROPOSED


def test_made_again_what_was_pinned_stays_what_was_dropped_does_not_return(autumn: World) -> None:
    before = made(autumn)
    pinned, dropped, open_one = before.proposals.all()
    decide_proposal(pinned, "pin", by=autumn.olive, now=autumn.now)
    decide_proposal(dropped, "drop", by=autumn.olive, now=autumn.now)
    after = made(autumn, before=before)
    by_state = {state: set(after.proposals.filter(state=state).values_list("local_date", flat=True)) for state in State}
    assert by_state[State.PINNED] == {pinned.local_date}
    assert by_state[State.DROPPED] == {dropped.local_date}
    assert open_one.local_date in by_state[State.PROPOSED]
    assert len(by_state[State.PROPOSED]) == 2
    assert dropped.local_date not in by_state[State.PROPOSED]


def test_made_again_with_nothing_changed_nothing_moves(autumn: World) -> None:
    before = made(autumn)
    after = made(autumn, before=before)
    columns = ("local_date", "local_time", "site", "theme", "guide")
    assert list(after.proposals.values_list(*columns)) == list(before.proposals.values_list(*columns))


def test_a_plan_that_is_not_made_cannot_be_made_again(autumn: World) -> None:
    with pytest.raises(PlanNotAsked, match="not made yet"):
        asked(autumn, before=asked(autumn))


@pytest.fixture
def office(autumn: World) -> Client:
    client = Client()
    client.force_login(autumn.olive)
    return client


def form_of(world: World) -> dict[str, object]:
    return {
        "first": FIRST.isoformat(), "last": LAST.isoformat(), "most_walks": 4, "most_a_week": 2, "weekdays": ["5", "6"],
        "start": "10:00", "minutes": 180, "rest": 7, "in_holidays": 1, "holidays": "2026-10-19 to 2026-10-30",
        f"least_{world.theme.public_id}": 1, f"most_{world.theme.public_id}": 9,
    }  # fmt: skip


def test_the_pages_from_the_form_to_a_walk(autumn: World, office: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("walks.views.plans.timezone.now", lambda: autumn.now)
    answer = office.post(reverse("staff_plans"), form_of(autumn))
    plan = SeasonPlan.objects.get()
    page = reverse("staff_plan", args=[plan.public_id])
    assert answer["Location"] == page
    waiting = office.get(page)
    assert waiting["Refresh"] == "4"
    assert "being made" in waiting.content.decode()
    make_next_plan(now=autumn.now)
    shown = office.get(page)
    assert "Refresh" not in shown
    assert shown.content.decode().count('value="accept"') == 3
    proposal = plan.proposals.first()
    assert proposal is not None
    act = reverse("staff_proposal", args=[plan.public_id, proposal.public_id])
    office.post(act, {"decision": "accept"})
    assert "accepted" in office.get(page).content.decode()
    assert office.post(act, {"decision": "nonsense"}, follow=True).status_code == 200
    again = office.post(reverse("staff_plan_again", args=[plan.public_id]))
    assert again["Location"] != page
    assert SeasonPlan.objects.count() == 2


@pytest.mark.parametrize(
    ("changed", "words"),
    [({"holidays": "in summer"}, "no span of days"), ({"holidays": "2026-10-30 to 2026-10-19"}, "ends before"),
     ({"last": "2026-09-01"}, "lies before the first"), ({"most_walks": 0}, "greater than or equal to 1")],
)  # fmt: skip
def test_the_form_says_what_is_wrong_and_keeps_what_was_typed(
    autumn: World, office: Client, changed: dict[str, object], words: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("walks.views.plans.timezone.now", lambda: autumn.now)
    answer = office.post(reverse("staff_plans"), form_of(autumn) | changed)
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert 'value="2026-09-15"' in answer.content.decode()
    assert not SeasonPlan.objects.exists()


def test_a_plan_page_costs_the_same_whatever_it_proposes(
    autumn: World, office: Client, django_assert_max_num_queries: object
) -> None:
    plan = made(autumn)
    with django_assert_max_num_queries(14):  # type: ignore[operator]
        office.get(reverse("staff_plan", args=[plan.public_id]))


def test_the_command_prints_proposals_aims_and_what_stands_in_the_way(autumn: World) -> None:
    SiteRow.objects.update(zone="Europe/London")
    out = StringIO()
    call_command("plan_season", "--from", "2026-09-15", "--to", "2026-12-20", "--json", stdout=out)
    result = json.loads(out.getvalue())
    assert {"proposals", "aims", "unmet"} <= set(result)
    assert result["proposals"][0]["theme"] == "Winter wood"
    assert {"aim", "cost", "bound", "gap", "proven", "final"} == set(result["aims"][0])
    assert not SeasonPlan.objects.exists()


def test_the_command_refuses_a_window_that_ends_before_it_begins(world: World) -> None:
    with pytest.raises(CommandError, match="--from lies before --to"):
        call_command("plan_season", "--from", "2026-12-20", "--to", "2026-09-15", stdout=StringIO())


def test_days_without_an_end_of_twilight_do_not_stop_the_plan(autumn: World) -> None:
    """Far north there are days without sunrise and nights without dusk."""
    SiteRow.objects.update(latitude="69.650000", longitude="18.950000", zone="Europe/Oslo")
    season = season_of(Span(date(2026, 5, 1), date(2026, 12, 20)), TAUGHT_ALL_AUTUMN)
    light = season.sites[0].light
    assert date(2026, 12, 19) not in light
    assert light[date(2026, 6, 20)] == (0, 24 * 60 - 1)
