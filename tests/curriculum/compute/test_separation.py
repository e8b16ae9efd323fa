"""Verdicts on a pair: independent evidence, stages, habitat against the deadly, and who belongs to the pairs at all."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from curriculum.compute.account import UNKNOWN, Account, Interval, Season
from curriculum.compute.comparison import Outcome
from curriculum.compute.separation import Verdict, separate, verdict_on, worst
from curriculum.compute.separation_words import in_words
from curriculum.compute.universe import half_months_of, kept_apart_by, may_be_confused
from tests.curriculum.compute.files import accounts, vocabulary
from tests.curriculum.compute.taxa import SOME, alike, any_taxon, any_value, some_vocabulary, states, taxon, with_value

BLACK, WHITE = {"cap_colour": states("black")}, {"cap_colour": states("white")}
ORDER = list(Verdict)


def verdict(this: Account, other: Account) -> Verdict:
    return separate(this, other, vocabulary()).verdict


def test_two_independent_characters_settle_and_one_is_thin():
    one = taxon("one", **BLACK, latex=states("none"))
    other = taxon("other", **WHITE, latex=states("white"))
    assert verdict(one, other) is Verdict.SETTLED
    assert verdict(one, taxon("other", **WHITE)) is Verdict.THIN
    assert verdict(one, taxon("other")) is Verdict.UNSETTLED


def test_two_characters_of_one_evidence_group_are_one():
    sizes = {"cap_width": Interval(10, 20), "stem_length": Interval(10, 20), "stem_width": Interval(1, 2)}
    larger = {"cap_width": Interval(100, 200), "stem_length": Interval(90, 200), "stem_width": Interval(10, 20)}
    found = separate(taxon("one", **sizes), taxon("other", **larger), vocabulary())
    assert (found.verdict, found.groups) == (Verdict.THIN, ("size",))
    assert len(found.both_ways) == 3


@pytest.mark.parametrize(
    ("keys", "group"),
    [
        (("cap_width", "stem_length", "stem_width"), "size"),
        (("plant_height", "leaf_length", "leaf_width", "fruit_width"), "size"),
        (("frond_length", "frond_width"), "size"),
        (("underside_colour", "spore_print", "spore_dust"), "spores"),
        (("habitat", "substrate", "host", "zone"), "habitat"),
        (("ring",), "ring"),
        (("stem_base",), "stem_base"),
        (("flesh_colour", "flesh_change"), "flesh_colour"),
    ],
)
def test_the_evidence_groups_of_the_vocabulary(keys: tuple[str, ...], group: str):
    assert {vocabulary().characters[key].evidence_group for key in keys} == {group}


@pytest.mark.parametrize(
    "key", ["smell", "taste", "spore_print", "leaf_smell", "plant_smell", "seaweed_smell", "fades"]
)
def test_smell_taste_and_what_takes_overnight_never_count(key: str):
    character = vocabulary().characters[key]
    group = next(iter(character.groups))
    first, second = _disjoint_states(key)
    pair = [taxon(name, group=group, **{key: states(one)}) for name, one in (("one", first), ("other", second))]
    found = separate(*pair, vocabulary())
    assert found.verdict is Verdict.UNSETTLED
    assert [row.character for row in found.both_ways] == [key]


def _disjoint_states(key: str) -> tuple[str, str]:
    character = vocabulary().characters[key]
    return next(
        (one, other)
        for one in character.states
        for other in character.states
        if other not in character.widened([one])
    )  # fmt: skip


@pytest.mark.parametrize(
    ("edibility", "expected", "counted"),
    [
        ("choice", Verdict.SETTLED, ("habitat", "outer_colour")),
        ("poisonous", Verdict.SETTLED, ("habitat", "outer_colour")),
        ("deadly", Verdict.THIN, ("outer_colour",)),
    ],
)
def test_a_place_is_one_piece_of_evidence_and_none_against_the_deadly(
    edibility: str, expected: Verdict, counted: tuple[str, ...]
):
    one = taxon("one", **BLACK, habitat=states("dunes"), host=states("oak"))
    other = taxon("other", **WHITE, habitat=states("moor"), host=states("pine"), edibility=edibility)
    for pair in ((one, other), (other, one)):
        found = separate(*pair, vocabulary())
        assert (found.verdict, found.groups) == (expected, counted)
        assert found.not_counted == (("habitat",) if edibility == "deadly" else ())


def test_what_is_absent_is_credited_to_the_controlling_character_only():
    grown = accounts()["scleroderma-citrinum"]
    found = separate(grown, accounts()["amanita-phalloides"], vocabulary())
    assert "stem" in {row.character for row in found.both_ways}
    assert "stem_width" in {row.character for row in found.not_comparable}


def test_the_verdict_is_the_worst_over_the_stages_that_may_be_met():
    one = taxon("one", **BLACK, latex=states("none"))
    other = taxon("other", young={"cap_colour": states("black")}, latex=states("white"), **WHITE)
    found = separate(one, other, vocabulary())
    by_stage = {pair.other_stage: pair.verdict for pair in found.stages}
    assert by_stage == {"young": Verdict.THIN, "mature": Verdict.SETTLED, "all": Verdict.THIN}
    assert found.verdict is Verdict.THIN


def test_a_value_of_grown_ones_only_counts_for_grown_ones_only():
    oyster = accounts()["pleurotus-ostreatus"]
    always = {key: value for key, value in oyster.characters["all"].items() if key != "flesh_thickness"}
    grown_only = {**oyster.characters["mature"], "flesh_thickness": states("thick")}
    known = replace(oyster, characters={**oyster.characters, "all": always, "mature": grown_only})
    found = separate(known, accounts()["pleurocybella-porrigens"], vocabulary())
    grown = next(pair for pair in found.stages if (pair.this_stage, pair.other_stage) == ("mature", "mature"))
    assert "flesh_texture" in grown.groups
    assert "flesh_texture" not in found.groups


def test_one_way_never_adds_to_a_verdict_and_helps_only_against_what_harms():
    edible = taxon("edible", cap_colour=states("white", "black"), latex=states("none", "red"))
    deadly = taxon("deadly", cap_colour=states("white"), latex=states("none"), edibility="deadly")
    found = separate(edible, deadly, vocabulary())
    assert found.verdict is Verdict.UNSETTLED
    assert all(found.excludes_danger(row) for row in found.one_way)
    against_the_food = separate(taxon("edible", **WHITE), taxon("deadly", cap_colour=states("white", "black"),
                                edibility="deadly"), vocabulary())  # fmt: skip
    assert not any(against_the_food.excludes_danger(row) for row in against_the_food.one_way)


@pytest.mark.parametrize(("number", "expected"), [(0, "unsettled"), (1, "thin"), (2, "settled"), (3, "settled")])
def test_how_much_evidence_settles(number: int, expected: str):
    groups = frozenset(["size", "latex", "ring"][:number])
    assert verdict_on(groups, deadly=False) == expected
    assert verdict_on(groups | {"habitat"}, deadly=True) == expected


def test_the_worst_of_verdicts():
    assert worst(Verdict) is Verdict.UNSETTLED
    assert worst([Verdict.SETTLED, Verdict.THIN]) is Verdict.THIN


@settings(max_examples=60, deadline=None)
@given(any_taxon("one"), any_taxon("other"))
def test_a_pair_is_the_same_from_either_side(one: Account, other: Account):
    there, back = (separate(*pair, some_vocabulary()) for pair in ((one, other), (other, one)))
    assert (there.verdict, there.groups) == (back.verdict, back.groups)
    assert {(pair.this_stage, pair.other_stage): pair.verdict for pair in there.stages} == {
        (pair.other_stage, pair.this_stage): pair.verdict for pair in back.stages
    }
    assert may_be_confused(one, other, vocabulary()) == may_be_confused(other, one, vocabulary())


@settings(max_examples=60, deadline=None)
@given(any_taxon("one"), any_taxon("other"))
def test_stage_not_sure_is_the_worst_of_all_stages(one: Account, other: Account):
    found = separate(one, other, some_vocabulary())
    unsure = next(pair for pair in found.stages if pair.this_stage == pair.other_stage == "all")
    assert unsure.verdict is found.verdict
    assert unsure.groups == found.groups


@settings(max_examples=150, deadline=None)
@given(any_taxon("one"), any_taxon("other"), st.sampled_from(SOME), st.data())
def test_ignorance_never_helps(one: Account, other: Account, key: str, data: st.DataObject):
    """Deleting a value, widening a range or adding a state never improves a verdict nor drops a lookalike."""
    before = one.value(key)
    extra = data.draw(any_value(key))
    if isinstance(before, Interval) and isinstance(extra, Interval):
        looser = with_value(one, key, Interval(min(before.low, extra.low), max(before.high, extra.high)))
    elif isinstance(before, frozenset) and isinstance(extra, frozenset):
        looser = with_value(one, key, before | extra)
    else:
        looser = with_value(one, key, UNKNOWN)
    words = some_vocabulary()
    assert ORDER.index(separate(looser, other, words).verdict) >= ORDER.index(separate(one, other, words).verdict)
    if may_be_confused(one, other, words):
        assert may_be_confused(looser, other, words)


@pytest.mark.parametrize(
    ("one", "other", "expected"),
    [
        ((3, 4), (4, 5), ""),
        ((3, 4), (5, 6), ""),
        ((3, 4), (6, 7), "months"),
        ((12,), (1,), ""),
        ((12,), (2,), "months"),
        ((), (6,), ""),
    ],
)
def test_months_meet_with_half_a_month_at_either_end(one: tuple[int, ...], other: tuple[int, ...], expected: str):
    pair = taxon("one", season=Season(one)), taxon("other", season=Season(other))
    assert kept_apart_by(*pair, vocabulary()) == expected


def test_a_season_is_widened_by_exactly_one_half_month():
    assert half_months_of(Season((6,))) == {9, 10, 11, 12}


def test_habitats_meet_through_their_neighbours_and_where_one_is_unknown():
    wood = taxon("one", habitat=states("broadleaved_wood"))
    assert may_be_confused(wood, taxon("other", habitat=states("mixed_wood")), vocabulary())
    assert may_be_confused(wood, taxon("other"), vocabulary())
    assert kept_apart_by(wood, taxon("other", habitat=states("dunes")), vocabulary()) == "habitat"


def test_a_named_lookalike_is_always_in():
    shore = taxon("shore", group="seaweed", habitat=states("rocky_shore"), season=Season((1,)))
    named = taxon("wood", habitat=states("dunes"), season=Season((7,)), lookalikes=alike("shore"))
    assert may_be_confused(named, shore, vocabulary())
    assert may_be_confused(shore, named, vocabulary())
    assert kept_apart_by(taxon("wood"), shore, vocabulary()) == "group"


def test_a_pair_is_told_in_words():
    oyster, wings = accounts()["pleurotus-ostreatus"], accounts()["pleurocybella-porrigens"]
    told = "\n".join(in_words(separate(oyster, wings, vocabulary()), accounts(), vocabulary()))
    assert told.startswith("Grey Oyster (Pleurotus ostreatus) and Angel's Wings (Pleurocybella porrigens)")
    assert "dark grey, grey-brown is not Angel's Wings, which harms" in told
    assert "grassy is not Grey Oyster (does not count)" in told
    assert "Both ways:" in told


def test_every_outcome_has_its_place_in_a_separation():
    found = separate(accounts()["amanita-phalloides"], accounts()["scleroderma-citrinum"], vocabulary())
    for outcome in Outcome:
        assert all(row.outcome is outcome for row in getattr(found, outcome.value))
    rows = [row for outcome in Outcome for row in getattr(found, outcome.value)]
    assert len(rows) == len(vocabulary().characters_of("fungus"))
