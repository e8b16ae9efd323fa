import copy
import tomllib

import pytest

from curriculum.compute.vocabulary import VocabularyRefused, vocabulary_from
from tests.curriculum.compute.files import ROOM, vocabulary

CHARACTER = {
    "label": "cap colour",
    "groups": ["fungus"],
    "kind": "states",
    "organ": "cap",
    "property": "colour",
    "evidence_group": "colour",
    "effort": "glance",
    "reliability": "varies",
    "states": {"white": "white", "cream": "cream", "red": "red"},
    "confused": [["white", "cream"]],
}


def one_character(**changes: object) -> dict[str, object]:
    return {"version": 1, "character": {"cap_colour": {**copy.deepcopy(CHARACTER), **changes}}}


def test_who_is_taken_for_a_state_is_taken_for_it_in_turn():
    for character in vocabulary().characters.values():
        for state in character.states.values():
            assert state.key not in state.confused_with
            for other in state.confused_with:
                assert state.key in character.states[other].confused_with, (character.key, state.key, other)


def test_widening_adds_the_neighbours_and_nothing_else():
    character = vocabulary_from([one_character()]).characters["cap_colour"]
    assert character.widened({"white"}) == {"white", "cream"}
    assert character.widened({"red"}) == {"red"}
    assert character.widened(set()) == set()


def test_widening_never_loses_a_state():
    for character in vocabulary().characters.values():
        for state in character.states:
            assert state in character.widened({state})


def test_sizes_are_one_piece_of_evidence_and_in_millimetres():
    ranges = [one for one in vocabulary().characters.values() if one.kind == "range"]
    assert len(ranges) >= 8
    assert {(one.unit, one.evidence_group) for one in ranges} == {("mm", "size")}


@pytest.mark.parametrize(
    "together",
    [
        {"underside_colour", "spore_print", "spore_dust"},
        {"host", "substrate", "habitat", "zone"},
        {"flesh_colour", "flesh_change"},
    ],
)
def test_characters_that_are_one_piece_of_evidence_share_a_group(together: set[str]):
    assert len({vocabulary().characters[key].evidence_group for key in together}) == 1


def test_smell_taste_wetness_and_what_takes_overnight_never_count():
    never = {one.key for one in vocabulary().characters.values() if not one.counts}
    assert never == {
        "smell", "taste", "leaf_smell", "plant_smell", "seaweed_smell", "spore_print", "fades", "cap_wetness"
    }  # fmt: skip
    assert {one.key for one in vocabulary().characters.values() if one.effort == "overnight"} <= never


def test_safety_groups_and_dangers_are_marked():
    terms = vocabulary().terms
    assert {key for key, one in terms["fact_group"].items() if one.safety} == {
        "edibility", "toxicology", "caveats", "separators",
    }  # fmt: skip
    assert {key for key, one in terms["edibility"].items() if one.danger} == {"poisonous", "deadly"}
    ranks = [one.rank for one in terms["edibility"].values()]
    assert ranks == sorted(set(ranks))


@pytest.mark.parametrize(
    ("changes", "key", "expected"),
    [
        ({"kind": "state"}, "character.cap_colour.kind", "perhaps 'states'"),
        ({"effort": "smell"}, "character.cap_colour.effort", "glance"),
        ({"reliability": "good"}, "character.cap_colour.reliability", "steady"),
        ({"groups": ["fungi"]}, "character.cap_colour.groups", "perhaps 'fungus'"),
        ({"confused": [["white", "creme"]]}, "character.cap_colour.confused", "perhaps 'cream'"),
        ({"states": {}, "confused": []}, "character.cap_colour.states", "states, or a range"),
        ({"kind": "range", "states": {}, "confused": [], "unit": "cm"}, "character.cap_colour.unit", "mm"),
        ({"unit": "mm"}, "character.cap_colour.unit", "one of: "),
        ({"efort": "hand"}, "character.cap_colour.efort", "perhaps 'effort'"),
        (
            {"controlled_by": {"character": "stem", "states": ["absent"]}},
            "character.cap_colour.controlled_by",
            "one of",
        ),
        (
            {"controlled_by": {"character": "cap_colour", "states": ["blue"]}},
            "character.cap_colour.controlled_by",
            "red",
        ),
    ],
)
def test_a_faulty_character_is_refused_with_its_key_and_what_was_expected(
    changes: dict[str, object], key: str, expected: str
):
    with pytest.raises(VocabularyRefused) as refused:
        vocabulary_from([one_character(**changes)])
    assert [problem for problem in refused.value.problems if problem.key == key and expected in problem.expected]


def test_a_missing_word_a_second_definition_and_no_version_are_refused_together():
    faulty = one_character()
    faulty["version"] = 0
    del faulty["character"]["cap_colour"]["organ"]
    with pytest.raises(VocabularyRefused) as refused:
        vocabulary_from([faulty, faulty])
    assert {problem.key for problem in refused.value.problems} == {
        "character.cap_colour", "character.cap_colour.organ", "version",
    }  # fmt: skip


def test_a_character_is_controlled_only_by_one_defined_before_it():
    faulty = one_character(controlled_by={"character": "stem", "states": ["absent"]})
    faulty["character"]["stem"] = {**CHARACTER, "states": {"absent": "absent"}, "confused": []}
    with pytest.raises(VocabularyRefused, match="defined before"):
        vocabulary_from([faulty])


def test_deprecated_states_are_kept_and_marked():
    character = vocabulary_from([one_character(deprecated_states=["red"])]).characters["cap_colour"]
    assert [key for key, state in character.states.items() if state.deprecated] == ["red"]


def test_emergency_numbers_name_their_source_and_who_may_call():
    data = tomllib.loads((ROOM / "jurisdictions.toml").read_text(encoding="utf-8"))
    sources = {one["key"] for one in data.pop("source")}
    data.pop("format")
    assert set(data) == {"GB-ENG", "GB-WLS", "GB-SCT", "GB-NIR", "IE"}
    for place in data.values():
        assert set(place["emergency_numbers"]) == {"999", "112"}
        assert set(place["sources"]) <= sources
        for line in place["poison_line"]:
            assert line["source"] in sources
            assert line["open_to"] in {"public", "professionals"}
