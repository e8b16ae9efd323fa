"""The composed risk assessment: which facts fire what, and the laws that hold for every walk."""

import dataclasses
import json
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.walks.compute.risk_cases import FIVE_BY_FIVE, LIBRARY, MATRICES, TAXA, WOOD_IN_JUNE, walks, worse
from walks.compute.risk_assessment import AssessedHazard, Assessment, compose
from walks.compute.risk_matrix import Score
from walks.compute.risk_record import as_record, from_record
from walks.compute.risk_rules import Action, FiredBy
from walks.compute.strict_tables import TablesRefused

SHORE = ["rocky_shore"]


def assess(**changes: object) -> Assessment:
    """The assessment of the wood in June with some facts changed."""
    return compose(LIBRARY, FIVE_BY_FIVE, {**WOOD_IN_JUNE, **changes})


def hazards(assessment: Assessment) -> dict[str, AssessedHazard]:
    """Its hazards by key."""
    return {hazard.key: hazard for hazard in assessment.hazards}


def fired(key: str, **changes: object) -> bool:
    """Whether a hazard is in the assessment of the wood in June with some facts changed."""
    return key in hazards(assess(**changes))


def test_an_ordinary_walk():
    assert [hazard.key for hazard in assess().hazards] == [
        "allergy",
        "falling_branches",
        "heat_and_sun",
        "illness_or_injury",
        "lightning",
        "stings_and_bites",
        "lost_person",
        "ticks",
        "hand_hygiene",
        "thorns",
    ]


def test_the_five_steps_are_its_structure():
    assert [step.title for step in assess().steps] == [
        "Identify hazards",
        "Assess the risks",
        "Control the risks",
        "Record your findings",
        "Review the controls",
    ]


def test_a_hazard_says_which_facts_fired_it():
    ticks = hazards(assess())["ticks"]
    assert ticks.fired_by == (FiredBy("habitats", ("broadleaved_wood",)), FiredBy("month", 6))


def test_a_hazard_fired_twice_takes_the_higher_ratings_and_every_control():
    once = hazards(assess(deadly_expected=["amanita-phalloides"]))["deadly_species"]
    twice = hazards(assess(deadly_expected=["amanita-phalloides"], activities=["walk", "gathering"]))["deadly_species"]
    assert (once.inherent.score, twice.inherent.score) == (Score(3, 5), Score(4, 5))
    assert twice.residual.score == once.residual.score == Score(1, 5)
    assert twice.controls[: len(once.controls)] == once.controls
    assert any(control.startswith("Baskets are checked piece by piece") for control in twice.controls)
    assert len(twice.controls) == len(set(twice.controls))


def test_raised_ratings_are_taken_one_by_one():
    risk = hazards(assess(touch_hazard_expected=["heracleum-mantegazzianum"], site_hazards=["giant_hogweed"]))
    assert risk["poison_by_touch"].inherent.score == Score(4, 4)
    assert risk["poison_by_touch"].residual.score == Score(2, 4)


def test_levels_are_read_off_the_matrix_given():
    alternative = compose(LIBRARY, MATRICES["mil-std-882e"], {**WOOD_IN_JUNE, "deadly_expected": ["conium-maculatum"]})
    deadly = hazards(alternative)["deadly_species"]
    assert (deadly.inherent.level, deadly.residual.level) == ("high", "medium")
    assert alternative.levels[-1] == "high"


def test_actions_name_who_does_them():
    absent = hazards(assess(first_aider_present=False))["illness_or_injury"]
    assert absent.further == (
        Action("Find a first-aider with a certificate in date; without one the walk does not start.", "office"),
    )
    assert absent.residual.level == "high"


def test_sources_are_printed_by_title():
    assert hazards(assess(cattle=True))["cattle"].sources[0].startswith("Cattle and public access in England and Wales")


@pytest.mark.parametrize(
    ("key", "changes", "expected"),
    [
        ("tide", {"habitats": SHORE, "tidal": None}, True),
        ("tide", {"habitats": ["broadleaved_wood"], "tidal": None}, False),
        ("tide", {"habitats": None, "tidal": None}, True),
        ("tide", {"habitats": ["broadleaved_wood"], "tidal": True}, True),
        ("tide", {"habitats": SHORE, "tidal": False}, False),
        ("tide", {"site_hazards": ["tide"]}, True),
        ("late_help", {"mobile_coverage": None}, True),
        ("late_help", {"mobile_coverage": "patchy"}, True),
        ("late_help", {"emergency_minutes": 29}, False),
        ("late_help", {"emergency_minutes": 30}, True),
        ("lone_working", {"guides_count": 1}, True),
        ("lone_working", {"lone_guide": True}, True),
        ("night_walking", {"twilight_margin_min": 31}, False),
        ("night_walking", {"twilight_margin_min": 30}, True),
        ("night_walking", {"twilight_margin_min": None}, True),
        ("night_walking", {"end_minute": 22 * 60}, False),
        ("night_walking", {"end_minute": 22 * 60 + 1}, True),
        ("night_walking", {"start_minute": 5 * 60}, False),
        ("night_walking", {"start_minute": 5 * 60 - 1}, True),
        ("heat_and_sun", {"month": 5}, True),
        ("heat_and_sun", {"month": 4}, False),
        ("cold_and_wet", {"month": 10}, True),
        ("cold_and_wet", {"month": 9}, False),
        ("lightning", {"month": 12}, False),
        ("lightning", {"month": 12, "habitats": ["moor"]}, True),
        ("uneven_ground", {"step_free": False}, True),
        ("uneven_ground", {"route_ascent_band": "gentle"}, True),
        ("misidentification", {"activities": ["walk", "gathering"]}, True),
        ("misidentification", {"poisonous_expected": ["paxillus-involutus"]}, True),
        ("poison_by_touch", {"touch_hazard_expected": ["heracleum-mantegazzianum"]}, True),
        ("falling_branches", {"habitats": ["grassland"]}, False),
        ("shore_rocks", {"habitats": SHORE}, True),
        ("cattle", {"cattle": None}, True),
        ("dogs", {"site_hazards": ["loose_dogs"]}, True),
        ("roads", {"roadside": True}, True),
        ("protected_site", {"protected_site": True}, True),
        ("access_arrangements", {"access_controls": ["rest_stops"]}, True),
        ("fire", {"activities": ["walk", "cooking_fire"]}, True),
        ("knives", {"activities": ["walk", "knives"]}, True),
        ("contaminated_ground", {"site_hazards": ["sewage_outfall"]}, True),
        ("land_work", {"site_hazards": ["shooting"]}, True),
        ("water", {"habitats": ["riverside"]}, True),
        ("falls_from_height", {"habitats": ["cliff"]}, True),
        ("slippery_ground", {"month": 11}, True),
    ],
)
def test_what_fires_a_hazard(key, changes, expected):
    assert fired(key, **changes) is expected


@pytest.mark.parametrize(("band", "likelihood"), [("7 to 12", 3), ("13 to 20", 4), ("over 20", 4)])
def test_a_large_group_loses_people_more_easily(band, likelihood):
    assert hazards(assess(group_size_band=band))["lost_person"].inherent.score.likelihood == likelihood


@pytest.mark.parametrize(("minutes", "level"), [(59, "medium"), (60, "high")])
def test_an_hour_to_the_hospital_leaves_a_high_risk(minutes, level):
    assert hazards(assess(emergency_minutes=minutes))["late_help"].residual.level == level


def test_unknown_coverage_counts_as_none():
    unknown, none = (hazards(assess(mobile_coverage=coverage))["late_help"] for coverage in (None, "none"))
    assert dataclasses.replace(unknown, fired_by=()) == dataclasses.replace(none, fired_by=())


def test_without_the_time_of_low_water_the_shore_is_high_risk():
    assert hazards(assess(habitats=SHORE, tidal=True, low_water_known=True))["tide"].residual.level == "medium"
    assert hazards(assess(habitats=SHORE, tidal=True, low_water_known=None))["tide"].residual.level == "high"


def test_arrangements_print_the_control_and_only_those_called_for():
    controls = hazards(assess(access_controls=["rest_stops"]))["access_arrangements"].controls
    assert "The group rests at least every twenty minutes." in controls
    assert "A folding seat is carried." not in controls


def test_knowing_nothing_fires_everything():
    assert set(hazards(compose(LIBRARY, FIVE_BY_FIVE, {}))) == set(LIBRARY.hazards)


def test_the_facts_read_are_kept_with_the_version_of_their_record():
    kept = compose(LIBRARY, FIVE_BY_FIVE, {**WOOD_IN_JUNE, "start_minute": 614}, versions={"habitats": "site 7"}).facts
    facts = {fact.fact: fact for fact in kept}
    assert set(facts) == set(LIBRARY.facts)
    assert (facts["habitats"].version, facts["start_minute"].value) == ("site 7", 600)


def test_what_is_printed_for_emergencies_is_kept():
    printed = compose(LIBRARY, FIVE_BY_FIVE, WOOD_IN_JUNE, emergency={"grid reference": "TG 514 131"}).emergency
    assert {fact.fact: fact.value for fact in printed} == {
        "first_aider_present": True,
        "mobile_coverage": "good",
        "emergency_minutes": 20,
        "grid reference": "TG 514 131",
    }


def test_a_misspelt_fact_is_refused():
    with pytest.raises(TablesRefused, match="facts, habitat: this fact is not known; did you mean 'habitats'"):
        assess(habitat=["moor"])


@given(facts=walks(), key=st.sampled_from(sorted(LIBRARY.facts)), data=st.data())
def test_a_worse_fact_never_removes_a_hazard_a_rating_or_a_control(facts, key, data):
    before = hazards(compose(LIBRARY, FIVE_BY_FIVE, facts))
    after = hazards(compose(LIBRARY, FIVE_BY_FIVE, {**facts, key: data.draw(worse(LIBRARY.facts[key], facts[key]))}))
    assert before.keys() <= after.keys()
    for hazard in before:
        assert not before[hazard].inherent.score.exceeds(after[hazard].inherent.score)
        assert not before[hazard].residual.score.exceeds(after[hazard].residual.score)
        assert set(before[hazard].controls) <= set(after[hazard].controls)
        assert set(before[hazard].further) <= set(after[hazard].further)


@given(facts=walks(), seed=st.integers(0, 1000))
def test_the_order_of_facts_and_of_rules_makes_no_difference(facts, seed):
    shuffle = random.Random(seed)
    keys = shuffle.sample(sorted(facts), len(facts))
    mixed = {key: _shuffled(facts[key], shuffle) for key in keys}
    assert compose(LIBRARY, FIVE_BY_FIVE, mixed) == compose(LIBRARY, FIVE_BY_FIVE, facts)
    rules = tuple(shuffle.sample(LIBRARY.rules, len(LIBRARY.rules)))
    other = compose(dataclasses.replace(LIBRARY, rules=rules), FIVE_BY_FIVE, facts)
    assert [_unordered(hazard) for hazard in other.hazards] == [
        _unordered(hazard) for hazard in compose(LIBRARY, FIVE_BY_FIVE, facts).hazards
    ]


def _shuffled(value: object, shuffle: random.Random) -> object:
    return shuffle.sample(value, len(value)) if isinstance(value, list) else value


def _unordered(hazard: AssessedHazard) -> tuple[object, ...]:
    return (
        hazard.key, hazard.inherent, hazard.residual, set(hazard.controls), set(hazard.further), hazard.fired_by,
    )  # fmt: skip


@pytest.mark.parametrize("matrix", MATRICES.values(), ids=lambda matrix: matrix.key)
@given(facts=walks())
def test_what_remains_never_exceeds_what_was_and_death_is_never_low(matrix, facts):
    for hazard in compose(LIBRARY, matrix, facts).hazards:
        assert not hazard.residual.score.exceeds(hazard.inherent.score)
        assert matrix.levels.index(hazard.residual.level) <= matrix.levels.index(hazard.inherent.level)
        if hazard.residual.score.severity == 5:
            assert hazard.residual.level not in ("eliminated", "low")


@given(facts=walks())
def test_the_worst_remaining_risk_comes_first(facts):
    levels = [FIVE_BY_FIVE.levels.index(h.residual.level) for h in compose(LIBRARY, FIVE_BY_FIVE, facts).hazards]
    assert levels == sorted(levels, reverse=True)


@pytest.mark.parametrize(
    ("fact", "hazard"),
    [
        ("deadly_expected", "deadly_species"),
        ("poisonous_expected", "misidentification"),
        ("touch_hazard_expected", "poison_by_touch"),
    ],
)
@given(facts=walks(), taxa=st.lists(st.sampled_from(TAXA), min_size=1, unique=True))
def test_a_dangerous_species_is_never_silenced(fact, hazard, facts, taxa):
    causes = hazards(compose(LIBRARY, FIVE_BY_FIVE, {**facts, fact: taxa}))[hazard].fired_by
    assert FiredBy(fact, tuple(sorted(taxa))) in causes


@given(facts=walks())
def test_an_assessment_comes_back_from_json_as_it_was(facts):
    assessment = compose(LIBRARY, FIVE_BY_FIVE, facts, emergency={"emergency number": "999"})
    assert from_record(json.loads(json.dumps(as_record(assessment)))) == assessment
