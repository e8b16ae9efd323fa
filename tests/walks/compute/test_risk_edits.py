"""What a person may change in a composed assessment, and what never."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.walks.compute.risk_cases import FIVE_BY_FIVE, LIBRARY, WOOD_IN_JUNE
from walks.compute.risk_assessment import compose
from walks.compute.risk_edits import HazardEdit, edited, edits_from, edits_record, faults
from walks.compute.risk_matrix import Score
from walks.compute.risk_rules import Action

COMPOSED = compose(LIBRARY, FIVE_BY_FIVE, {**WOOD_IN_JUNE, "deadly_expected": ["amanita-phalloides"]})
THORNS = next(one for one in COMPOSED.hazards if one.key == "thorns")
OWN = HazardEdit(
    "own-1", Score(3, 4), Score(1, 4), controls=("A guide holds it back.",), title="Low branch", who="Tall people."
)
ratings = st.builds(Score, st.integers(1, 5), st.integers(1, 5))


def after(*edits: HazardEdit) -> dict[str, object]:
    return {one.key: one for one in edited(COMPOSED, edits, FIVE_BY_FIVE, due="2026-06-05").hazards}


def test_without_edits_only_the_days_are_filled_in() -> None:
    found = edited(COMPOSED, (), FIVE_BY_FIVE, due="2026-06-05")
    assert [one.key for one in found.hazards] == [one.key for one in COMPOSED.hazards]
    assert {a.due for one in found.hazards for a in one.further} == {"2026-06-05"}
    assert found.facts == COMPOSED.facts


def test_controls_and_actions_are_added_to_those_of_the_library() -> None:
    action = Action("Cut the bramble back.", "office", "2026-06-01")
    thorns = after(HazardEdit("thorns", controls=("Gloves are lent.",), further=(action,)))["thorns"]
    assert thorns.controls == (*THORNS.controls, "Gloves are lent.")
    assert thorns.further[-1] == action
    assert thorns.inherent == THORNS.inherent


def test_a_new_score_takes_its_level_from_the_matrix() -> None:
    thorns = after(HazardEdit("thorns", before=Score(5, 4), after=Score(3, 3)))["thorns"]
    assert (thorns.inherent.level, thorns.residual.level) == ("very high", "medium")


def test_a_hazard_of_ones_own_is_listed_by_its_risk() -> None:
    found = after(OWN)
    assert found["own-1"].title == "Low branch"
    assert found["own-1"].fired_by == ()


def test_an_edit_of_what_is_composed_no_longer_changes_nothing() -> None:
    assert after(HazardEdit("fire", before=Score(5, 5))) == after()


@pytest.mark.parametrize(
    ("edit", "words"),
    [
        (HazardEdit("thorns", after=Score(5, 2), before=Score(4, 2)), "no rating may be higher"),
        (HazardEdit("thorns", before=Score(3, 2)), "Write the reason"),
        (HazardEdit("deadly_species", before=Score(3, 4), after=Score(1, 4), reason="They are rare."), "may kill"),
        (HazardEdit("own-1", Score(3, 3), Score(1, 3), title="Branch", who="All"), "at least one control"),
        (HazardEdit("own-1", Score(3, 3), Score(1, 3), controls=("x",), title="Branch"), "whom it may harm"),
        (HazardEdit("own-1", Score(3, 3), Score(4, 3), controls=("x",), title="B", who="All"), "may be higher"),
        (HazardEdit("own-1", controls=("x",), title="B", who="All"), "rate the likelihood"),
    ],
)
def test_what_cannot_be_signed(edit: HazardEdit, words: str) -> None:
    assert any(words in sentence for sentence in faults(COMPOSED, (edit,)))


def test_a_lower_score_with_its_reason_can_be_signed() -> None:
    assert faults(COMPOSED, (HazardEdit("thorns", before=Score(3, 2), reason="The path was cleared."), OWN)) == ()


def test_edits_come_back_from_json_as_they_were() -> None:
    edits = (OWN, HazardEdit("thorns", before=Score(3, 2), reason="r", further=(Action("a", "office", "2026-06-01"),)))
    assert edits_from(json.loads(json.dumps(edits_record(edits)))) == edits


@given(before=ratings, then=ratings, reason=st.sampled_from(["", "seen today"]), key=st.sampled_from(sorted(after())))
def test_whatever_may_be_signed_keeps_the_laws(before: Score, then: Score, reason: str, key: str) -> None:
    edit = HazardEdit(key, before=before, after=then, reason=reason)
    composed = next(one for one in COMPOSED.hazards if one.key == key)
    if faults(COMPOSED, (edit,)):
        return
    found = after(edit)[key]
    assert not found.residual.score.exceeds(found.inherent.score)
    assert set(composed.controls) <= set(found.controls)
    if composed.residual.score.severity == 5:
        assert found.residual.score.severity == 5
        assert found.residual.level != "low"
    if composed.inherent.score.exceeds(before) or composed.residual.score.exceeds(then):
        assert reason
