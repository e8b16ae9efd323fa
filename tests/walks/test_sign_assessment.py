"""Editing, signing, staleness and the signed addition."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from datetime import datetime, timedelta

import pytest
from django.db import DatabaseError, connection, transaction

from bookings.coming import coming_on
from bookings.services.book_places import book_places
from bookings.services.start_walk import start_walk
from foraywright.floor.models import AuditLine, PolicyVersion
from tests.bookings.risk import add_cattle, decide, gwen, sign, state, the_walk
from tests.cast import World
from walks.assessment_state import canonical
from walks.assessment_words import in_words
from walks.compute.risk_edits import HazardEdit
from walks.compute.risk_group import NOBODY, Scope
from walks.compute.risk_matrix import Score
from walks.compute.risk_record import as_record, from_record
from walks.errors import AdditionNotSigned, AssessmentNotSigned, DraftNotChanged
from walks.models import (
    AssessmentDraft,
    GuideCertificate,
    LandownersPermission,
    SignedAssessment,
    Site,
    SiteRoute,
    Walk,
    WalkGuide,
)
from walks.services.add_to_assessment import add_to_assessment
from walks.services.choose_matrix import choose_matrix
from walks.services.edit_assessment import choose_group, put_to_hazard, take_back
from walks.services.sign_assessment import Signature, sign_assessment

BRANCH = HazardEdit(
    "own-1", Score(3, 4), Score(1, 4), controls=("A guide holds it back.",), title="Low branch", who="Tall people."
)


def put(world: World, edit: HazardEdit, now: datetime) -> AssessmentDraft:
    return put_to_hazard(the_walk(world), edit, state(world, now=now).composed, by=world.olive, now=now)


def add(world: World, now: datetime, **changes: object) -> object:
    walk = the_walk(world)
    words = {"what_changed": "Cattle stand in the lower field.", "what_we_do": "We keep to the upper path."}
    values = words | {"by": gwen(world)} | changes
    return add_to_assessment(walk, coming_on(walk, now=now), now=now, **values)  # type: ignore[arg-type]


def test_a_signature_freezes_what_was_read(world: World, now: datetime) -> None:
    put(world, BRANCH, now)
    seen = state(world, now=now)
    signed = sign(world, now=now)
    body = json.loads(signed.body)
    assert from_record(body["signed"]) == seen.draft
    assert from_record(body["composed"]) == seen.composed
    assert signed.sha256 == hashlib.sha256(signed.body.encode()).hexdigest()
    assert signed.body == canonical(body)
    assert (signed.number, signed.name, signed.role, signed.signed_at) == (1, "Gwen", "leading guide", now)
    facts = {one["fact"]: one for one in body["composed"]["facts"]}
    assert facts["habitats"]["value"] == ["broadleaved_wood"]
    assert facts["habitats"]["version"].startswith("site record ")
    assert AuditLine.objects.filter(act="sign assessment", reason="version 1").exists()


def test_what_is_signed_stays_when_the_draft_goes_on(world: World, now: datetime) -> None:
    signed = sign(world, now=now)
    put(world, BRANCH, now)
    after = state(world, now=now)
    assert "own-1" in {one.key for one in after.draft.hazards}
    assert "own-1" not in {one.key for one in after.in_force.hazards}
    assert canonical(as_record(after.in_force)) == canonical(json.loads(signed.body)["signed"])
    assert sign(world, now=now).number == 2


def test_who_read_something_else_does_not_sign(world: World, now: datetime) -> None:
    mark = state(world, now=now).mark
    add_cattle()
    with pytest.raises(AssessmentNotSigned) as refused:
        sign_assessment(the_walk(world), Signature("leading guide", mark), NOBODY, by=gwen(world), now=now)
    assert refused.value.why == ("A fact or the draft changed while you read it.",)
    assert not SignedAssessment.objects.exists()


def test_a_walk_that_is_over_or_a_signature_without_a_role_is_refused(world: World, now: datetime) -> None:
    walk = the_walk(world)
    late = walk.ends_at
    with pytest.raises(AssessmentNotSigned) as refused:
        sign_assessment(walk, Signature(" ", state(world, now=late).mark), NOBODY, by=gwen(world), now=late)
    assert refused.value.why == ("The walk is over.", "Say what you are to this walk, for example: leading guide.")


def test_a_fault_of_the_draft_is_refused_when_it_is_put_there(world: World, now: datetime) -> None:
    with pytest.raises(DraftNotChanged) as refused:
        put(world, HazardEdit("falling_branches", before=Score(1, 5)), now)
    assert refused.value.why == ("Falling branches and trees: a rating is lower than the library’s. Write the reason.",)
    assert not AssessmentDraft.objects.exists()


def test_a_reason_that_the_facts_overtake_keeps_it_from_being_signed(world: World, now: datetime) -> None:
    put(world, HazardEdit("falling_branches", before=Score(2, 5), after=Score(1, 5), controls=("Look up.",)), now)
    Site.objects.update(hazards=["dead_or_leaning_trees"])
    assert state(world, now=now).faults == (
        "Falling branches and trees: a rating is lower than the library’s. Write the reason.",
    )
    with pytest.raises(AssessmentNotSigned):
        sign(world, now=now)


def test_what_a_person_put_can_be_taken_back(world: World, now: datetime) -> None:
    put(world, BRANCH, now)
    take_back(the_walk(world), "own-1", by=world.olive, now=now)
    assert state(world, now=now).edits == ()


CHANGES: dict[str, tuple[Callable[[], object], str]] = {
    "a site hazard": (add_cattle, "cattle"),
    "an emergency fact": (lambda: Site.objects.update(emergency_minutes=10), "emergency_minutes"),
    "the coverage, for the better": (lambda: Site.objects.update(mobile_coverage="good"), "mobile_coverage"),
    "the meeting point": (lambda: Site.objects.update(meeting_point="the west gate"), "meeting point"),
    "the grid reference": (lambda: Site.objects.update(reference_as_typed="SU 388 149"), "grid reference"),
    "the habitat": (lambda: Site.objects.update(habitats=["broadleaved_wood", "moor"]), "habitats"),
    "the climb": (lambda: Site.objects.update(ascent_m=400), "route_ascent_band"),
    "who leads": (lambda: _harry_leads(), "leading guide"),
    "the other guide": (lambda: WalkGuide.objects.filter(guide__name="Harry Guide").delete(), "lone_guide"),
    "the first-aiders": (
        lambda: GuideCertificate.objects.filter(kind="first_aid").delete(),
        "first_aider_present",
    ),
    "the length": (lambda: Walk.objects.update(ends_at=the_end() + timedelta(minutes=15)), "due back"),
    "the group, past its band": (
        lambda: LandownersPermission.objects.update(most_people=14),
        "group_size_band",
    ),
}


def the_end() -> datetime:
    return Walk.objects.get().ends_at


def _harry_leads() -> None:
    WalkGuide.objects.filter(guide__name="Gwen Guide").update(role="guides")
    WalkGuide.objects.filter(guide__name="Harry Guide").update(role="leads")


@pytest.mark.parametrize("name", sorted(CHANGES))
def test_each_fact_makes_it_stale_and_is_named(name: str, world: World, now: datetime) -> None:
    Site.objects.update(ascent_m=10)
    LandownersPermission.objects.update(most_people=12)
    sign(world, now=now)
    assert state(world, now=now).word == "signed"
    change, fact = CHANGES[name]
    change()
    after = state(world, now=now)
    assert after.word == "stale"
    assert fact in {one.fact for one in after.reasons}


@pytest.mark.parametrize("minutes", [0, 14])
def test_a_move_within_the_quarter_of_an_hour_is_none(minutes: int, world: World, now: datetime) -> None:
    Walk.objects.update(ends_at=the_end() + timedelta(minutes=1))
    sign(world, now=now)
    Walk.objects.update(ends_at=the_end() + timedelta(minutes=minutes))
    assert state(world, now=now).word == "signed"


@pytest.mark.parametrize(
    "change",
    [
        lambda: Site.objects.update(toilets="By the gate"),
        lambda: Site.objects.update(picking_rules="Nothing rare."),
        lambda: Walk.objects.update(places_taken_shown=5),
        lambda: LandownersPermission.objects.update(granted_by="The heirs"),
    ],
)
def test_what_no_rule_reads_changes_nothing(change: Callable[[], object], world: World, now: datetime) -> None:
    sign(world, now=now)
    change()
    after = state(world, now=now)
    assert (after.word, after.newer) == ("signed", False)


def test_what_only_removes_offers_a_newer_draft(world: World, now: datetime) -> None:
    add_cattle()
    sign(world, now=now)
    Site.objects.update(hazards=[])
    after = state(world, now=now)
    assert (after.word, after.newer) == ("signed", True)


def test_a_child_on_a_walk_assessed_for_adults_makes_it_stale(world: World, now: datetime) -> None:
    choose_group(the_walk(world), Scope("adults"), by=world.olive, now=now)
    assert "children" not in {one.key for one in state(world, now=now).draft.hazards}
    sign(world, now=now)
    book_places(world.order("adult", "adult"), by="participant", now=now)
    assert state(world, now=now).word == "signed"
    book_places(world.order("adult", "4-8", key="other"), by="participant", now=now)
    after = state(world, now=now)
    assert after.word == "stale"
    reason = next(one for one in after.reasons if one.hazard == "children")
    assert (reason.fact, reason.was, reason.now) == ("children_bands", (), ("4-8",))


def test_an_arrangement_is_printed_as_a_control_and_makes_a_signed_one_stale(world: World, now: datetime) -> None:
    sign(world, now=now)
    choose_group(the_walk(world), Scope(arranged=("seat_carried",)), by=world.olive, now=now)
    after = state(world, now=now)
    assert {one.fact for one in after.reasons} == {"access_controls"}
    arrangement = next(one for one in after.draft.hazards if one.key == "access_arrangements")
    assert "A folding seat is carried." in arrangement.controls
    with pytest.raises(DraftNotChanged):
        choose_group(the_walk(world), Scope("giants"), by=world.olive, now=now)


def test_another_route_makes_it_stale(world: World, now: datetime) -> None:
    sign(world, now=now)
    SiteRoute.objects.create(site=world.wood, name="The ridge", points=[], gpx="", added_at=now)
    assert {one.fact for one in state(world, now=now).reasons} == {"route"}


def test_another_matrix_makes_it_stale(world: World, now: datetime) -> None:
    sign(world, now=now)
    choose_matrix("mil-std-882e", by=world.olive, now=now)
    assert [one.fact for one in state(world, now=now).reasons] == ["risk matrix"]
    assert PolicyVersion.objects.get(kind="hazards").body["matrix"] == "mil-std-882e"
    with pytest.raises(DraftNotChanged):
        choose_matrix("nine-by-nine", by=world.olive, now=now)


def test_the_leading_guides_addition_clears_what_stands_and_nothing_later(world: World, now: datetime) -> None:
    sign(world, now=now)
    add_cattle()
    add(world, now)
    assert state(world, now=now).word == "cleared"
    Site.objects.update(hazards=["cattle", "bull", "deep_water"])
    after = state(world, now=now)
    assert after.word == "stale"
    assert {one.fact for one in after.open_reasons} == {"site_hazards"}


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ({"what_changed": "mud"}, "Write what has changed on the ground."),
        ({"what_we_do": " "}, "Write what you do about it."),
    ],
)
def test_an_addition_says_what_changed_and_what_is_done(
    changes: dict[str, str], why: str, world: World, now: datetime
) -> None:
    sign(world, now=now)
    add_cattle()
    with pytest.raises(AdditionNotSigned) as refused:
        add(world, now, **changes)
    assert refused.value.why == (why,)


def test_only_who_leads_signs_an_addition_and_only_where_it_is_needed(world: World, now: datetime) -> None:
    with pytest.raises(AdditionNotSigned) as refused:
        add(world, now)
    assert refused.value.why == ("Nothing is signed yet: sign the assessment itself.",)
    sign(world, now=now)
    with pytest.raises(AdditionNotSigned) as refused:
        add(world, now, by=world.olive)
    assert refused.value.why == (
        "Nothing has changed that needs an addition.",
        "Only the leading guide of the walk signs an addition.",
    )


def test_no_addition_clears_a_missing_first_aider(world: World, now: datetime) -> None:
    sign(world, now=now)
    GuideCertificate.objects.filter(kind="first_aid").delete()
    with pytest.raises(AdditionNotSigned) as refused:
        add(world, now)
    assert "that is not cleared by an addition" in refused.value.sentence


TABLES = {
    "walks_signedassessment": "role",
    "walks_assessmentaddition": "what_we_do",
    "walks_walkforecast": "source",
    "walks_weatherdecision": "decision",
    "walks_walkstart": "name",
}


@pytest.mark.database
@pytest.mark.parametrize("table", sorted(TABLES))
def test_what_was_signed_is_neither_changed_nor_deleted_past_the_program(
    table: str, world: World, now: datetime
) -> None:
    sign(world, now=now)
    add_cattle()
    add(world, now)
    early = the_walk(world).starts_at - timedelta(minutes=10)
    decide(world, now=early)
    start_walk(the_walk(world), by=gwen(world), now=early)
    for statement in (f"UPDATE {table} SET {TABLES[table]} = 'x'", f"DELETE FROM {table}"):
        with pytest.raises(DatabaseError, match="never"), transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(statement)


def test_times_of_day_are_said_as_on_a_clock() -> None:
    assert in_words("end_minute", 1335, {}) == "22:15"
    assert in_words("group_size_band", None, {}) == "not known, read as the worst"
