"""A signed risk assessment: what makes it stale, and what only offers a newer draft."""

import dataclasses

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from tests.walks.compute.risk_cases import FIVE_BY_FIVE, LIBRARY, MATRICES, WOOD_IN_JUNE, values, walks
from walks.compute.risk_assessment import Assessment, compose
from walks.compute.risk_library import Library
from walks.compute.risk_matrix import Matrix
from walks.compute.risk_staleness import Staleness, newer_draft, stale


def assess(library: Library = LIBRARY, matrix: Matrix = FIVE_BY_FIVE, **changes: object) -> Assessment:
    """The assessment of the wood in June with some facts changed."""
    return compose(library, matrix, {**WOOD_IN_JUNE, **changes}, emergency={"grid reference": "TG 514 131"})


def test_nothing_changed():
    assert stale(assess(), assess()) == ()
    assert not newer_draft(assess(), assess())


def test_a_new_hazard_makes_it_stale():
    assert stale(assess(), assess(protected_site=True)) == (
        Staleness("adds the hazard “Harm to a protected site”", "protected_site", "protected_site", False, True),
    )


def test_a_second_deadly_species_makes_it_stale():
    signed, now = ["amanita-phalloides"], ["amanita-phalloides", "galerina-marginata"]
    reasons = stale(assess(deadly_expected=signed), assess(deadly_expected=now))
    assert reasons == (
        Staleness(
            "adds to what brings about “Deadly species on the walk”: galerina-marginata",
            "deadly_species",
            "deadly_expected",
            ("amanita-phalloides",),
            ("amanita-phalloides", "galerina-marginata"),
        ),
    )


def test_a_raised_risk_makes_it_stale():
    reasons = stale(assess(), assess(group_size_band="13 to 20"))
    assert [reason.effect for reason in reasons] == [
        "raises the risk of “A lost or separated person” before the controls from high (likelihood 3, severity 4) "
        "to high (likelihood 4, severity 4)",
        "adds a control to “A lost or separated person”: "
        "A named member of staff walks last and nobody falls behind that person.",
    ]
    assert {(reason.fact, reason.was, reason.now) for reason in reasons} == {("group_size_band", "7 to 12", "13 to 20")}


def test_a_new_action_makes_it_stale():
    rules = tuple(dataclasses.replace(rule, before=None, after=None, controls=()) for rule in LIBRARY.rules)
    only_actions = dataclasses.replace(LIBRARY, rules=rules)
    effects = {r.effect for r in stale(assess(only_actions), assess(only_actions, first_aider_present=False))}
    assert any(effect.startswith("adds an action to “Illness or injury on the walk”: Find a") for effect in effects)


@pytest.mark.parametrize(
    ("fact", "was", "now"),
    [("mobile_coverage", "none", "good"), ("emergency_minutes", 20, 21), ("first_aider_present", False, True)],
)
def test_a_fact_printed_for_emergencies_makes_it_stale_even_where_it_got_better(fact, was, now):
    assert stale(assess(**{fact: was}), assess(**{fact: now})) == (
        Staleness("changes what is printed for emergencies", "", fact, was, now),
    )


def test_another_grid_reference_makes_it_stale():
    moved = compose(LIBRARY, FIVE_BY_FIVE, WOOD_IN_JUNE, emergency={"grid reference": "TG 515 131"})
    assert stale(assess(), moved) == (
        Staleness("changes what is printed for emergencies", "", "grid reference", "TG 514 131", "TG 515 131"),
    )


def test_a_number_that_is_no_longer_printed_makes_it_stale():
    dropped = compose(LIBRARY, FIVE_BY_FIVE, WOOD_IN_JUNE)
    assert [(reason.fact, reason.now) for reason in stale(assess(), dropped)] == [("grid reference", None)]


def test_what_is_no_longer_known_makes_it_stale():
    reasons = stale(assess(), assess(habitats=None))
    assert {reason.fact for reason in reasons} == {"habitats"}
    assert "adds to what brings about “Falling branches and trees”: habitats is no longer known" in {
        reason.effect for reason in reasons
    }


def test_another_start_is_no_reason_as_long_as_it_brings_nothing_new():
    assert stale(assess(start_minute=600), assess(start_minute=614)) == ()
    assert stale(assess(start_minute=600), assess(start_minute=660)) == ()
    assert [reason.fact for reason in stale(assess(end_minute=780), assess(end_minute=1321))] == ["end_minute"]


def test_what_only_removes_offers_a_newer_draft():
    signed, now = assess(cattle=True), assess()
    assert stale(signed, now) == ()
    assert newer_draft(signed, now)
    assert not newer_draft(now, signed)


def test_a_new_edition_of_the_library_is_named_as_the_reason():
    raised = {**LIBRARY.hazards, "ticks": dataclasses.replace(LIBRARY.hazards["ticks"], controls=("Stay at home.",))}
    newer = dataclasses.replace(LIBRARY, version="2", hazards=raised)
    assert stale(assess(), assess(newer)) == (
        Staleness("adds a control to “Ticks”: Stay at home.", "ticks", "hazard library", "1", "2"),
    )


def test_stricter_bands_raise_the_level_of_the_same_score():
    cells = {cell: "high" if level == "medium" else level for cell, level in FIVE_BY_FIVE.cells.items()}
    stricter = dataclasses.replace(FIVE_BY_FIVE, cells=cells)
    [effect] = [reason.effect for reason in stale(assess(), assess(matrix=stricter)) if reason.hazard == "thorns"]
    assert effect == (
        "raises the risk of “Thorns, scrub and wire” before the controls "
        "from medium (likelihood 4, severity 2) to high (likelihood 4, severity 2)"
    )


def test_another_matrix_makes_it_stale():
    [reason] = stale(assess(), assess(matrix=MATRICES["mil-std-882e"]))
    assert (reason.fact, reason.was, reason.now) == ("risk matrix", "five-by-five", "mil-std-882e")


@given(facts=walks(), changes=st.sampled_from(sorted(LIBRARY.facts)), data=st.data())
def test_it_holds_exactly_where_the_signed_one_covers_everything_now(facts, changes, data):
    """Held against a second reading of the definition: sets of everything that an assessment says."""
    new = {**facts, changes: data.draw(st.none() | values(LIBRARY.facts[changes]))}
    assume(not LIBRARY.facts[changes].emergency)
    signed, now = (compose(LIBRARY, FIVE_BY_FIVE, each) for each in (facts, new))
    assert (stale(signed, now) == ()) == (_said(now) <= _said(signed))


def _said(assessment: Assessment) -> set[tuple[object, ...]]:
    """Each statement of an assessment; a rating says every lower one too, a fact not known says all its words."""
    said: set[tuple[object, ...]] = set()
    for hazard in assessment.hazards:
        said.add((hazard.key,))
        for name, risk in (("before", hazard.inherent), ("after", hazard.residual)):
            said |= {(hazard.key, name, "likelihood", n) for n in range(1, risk.score.likelihood + 1)}
            said |= {(hazard.key, name, "severity", n) for n in range(1, risk.score.severity + 1)}
        said |= {(hazard.key, text) for text in (*hazard.controls, *hazard.further)}
        for cause in hazard.fired_by:
            fact = LIBRARY.facts[cause.fact]
            words = cause.value if isinstance(cause.value, tuple) else ()
            everything = (
                *fact.words,
                "amanita-phalloides",
                "conium-maculatum",
                "galerina-marginata",
                "oenanthe-crocata",
            )
            said |= {(hazard.key, cause.fact, word) for word in (everything if cause.value is None else words)}
            if cause.value is None:
                said.add((hazard.key, cause.fact, "not known"))
    return said


@given(facts=walks())
def test_an_assessment_covers_itself(facts):
    assessment = compose(LIBRARY, FIVE_BY_FIVE, facts)
    assert stale(assessment, assessment) == ()
    assert not newer_draft(assessment, assessment)
