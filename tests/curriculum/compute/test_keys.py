"""Keys: sound for every specimen, in agreement with the separation of each pair, danger early."""

import random
from collections.abc import Iterable, Mapping
from functools import cache
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from curriculum.compute.account import INAPPLICABLE, STAGES, Account, Interval, Lookalike, Value
from curriculum.compute.couplets import FEW_VALUES, Reading, bits, follows, splits
from curriculum.compute.key_words import leaf_note, printed
from curriculum.compute.keys import BREADTH, DANGER_WEIGHT, EFFORT_COST, UNRELIABILITY, Key, cost, make_key
from curriculum.compute.separation import Verdict, separate, visible
from curriculum.compute.vocabulary import Character, Vocabulary
from tests.curriculum.compute.files import accounts, vocabulary
from tests.curriculum.compute.taxa import any_taxon, some_vocabulary, states, taxon

GROUPS = ("fungus", "plant", "seaweed")


def group(name: str) -> dict[str, Account]:
    return {taxon: one for taxon, one in accounts().items() if one.group == name}


@cache
def key_to(name: str) -> Key:
    return make_key(group(name).values(), vocabulary())


def specimen(one: Account, words: Vocabulary, dice: random.Random) -> Mapping[str, Reading]:
    """What one specimen of the taxon shows, at a stage drawn by lot: any value that the account admits."""
    stage = dice.choice(STAGES)
    return {key: _shown(one.value(key, stage), character, dice) for key, character in words.characters.items()}


def _shown(value: Value, character: Character, dice: random.Random) -> Reading:
    if value is INAPPLICABLE:
        return None
    if isinstance(value, Interval):
        return dice.choice([value.low, value.high, dice.uniform(value.low, value.high)])
    if isinstance(value, frozenset):
        return dice.choice(sorted(value))
    return dice.choice(sorted(character.states)) if character.states else dice.uniform(0.1, 3000)


def lost(key: Key, inside: Iterable[Account], words: Vocabulary, number: int, seed: int) -> list[str]:
    """The taxa of specimens that reach a leaf which omits them, out of `number` specimens."""
    dice, known = random.Random(seed), list(inside)
    drawn = [dice.choice(known) for _ in range(number)]
    return [one.taxon for one in drawn if any(one.taxon not in end for end in key.ends(specimen(one, words, dice)))]


@pytest.mark.parametrize("name", GROUPS)
def test_no_specimen_ends_at_a_leaf_that_omits_its_taxon(name: str):
    assert lost(key_to(name), group(name).values(), vocabulary(), number=500, seed=11) == []


@pytest.mark.slow
@pytest.mark.parametrize("name", GROUPS)
def test_none_of_ten_thousand_specimens_is_lost(name: str):
    assert lost(key_to(name), group(name).values(), vocabulary(), number=10_000, seed=12) == []


@settings(max_examples=40, deadline=None)
@given(st.integers(2, 6).flatmap(lambda size: st.tuples(*[any_taxon(f"t{place}") for place in range(size)])))
def test_keys_to_any_taxa_are_sound_and_agree_with_their_separation(taxa: tuple[Account, ...]):
    key = make_key(taxa, some_vocabulary())
    assert lost(key, taxa, some_vocabulary(), number=40, seed=13) == []
    _agrees(key, taxa, some_vocabulary())


@pytest.mark.parametrize("name", GROUPS)
def test_key_and_separation_agree(name: str):
    _agrees(key_to(name), group(name).values(), vocabulary())


def _agrees(key: Key, taxa: Iterable[Account], words: Vocabulary) -> None:
    """A settled or thin pair shares no leaf; no couplet sends an unsettled pair down different leads."""
    for one, other in combinations(taxa, 2):
        settled = separate(one, other, words).verdict is not Verdict.UNSETTLED
        pair = {one.taxon, other.taxon}
        together = any(pair <= set(leaf) for leaf in key.leaves)
        assert together != settled, pair
        assert settled or not any(_parts(key, couplet.number, one.taxon, other.taxon) for couplet in key.couplets)


def _parts(key: Key, number: int, one: str, other: str) -> bool:
    sides = [set(_behind(key, lead.to)) for lead in key.couplets[number - 1].leads]
    ways = [tuple(taxon in side for side in sides) for taxon in (one, other)]
    return sorted(ways) == [(False, True), (True, False)]


def _behind(key: Key, to: int | tuple[str, ...]) -> tuple[str, ...]:
    return to if isinstance(to, tuple) else key.couplets[to - 1].taxa


@pytest.mark.parametrize("name", GROUPS)
def test_only_what_is_seen_felt_or_cut_is_asked(name: str):
    asked = {couplet.character for couplet in key_to(name).couplets}
    assert asked
    assert all(visible(vocabulary().characters[key]) for key in asked)


def test_a_taxon_goes_down_both_leads_if_its_values_do_or_are_not_known():
    key = make_key(
        [
            taxon("pale", latex=states("white")),
            taxon("red", latex=states("red")),
            taxon("both", latex=states("white", "red")),
            taxon("not-known"),
        ],
        vocabulary(),
    )
    assert key.leaves == {("both", "not-known", "pale"), ("both", "not-known", "red")}


def test_ranges_are_cut_in_gaps_and_what_lies_between_follows_both():
    small, large = taxon("small", cap_width=Interval(10, 20)), taxon("large", cap_width=Interval(24, 60))
    key = make_key([small, large], vocabulary())
    assert key.ends({"cap_width": 20}) == {("small",)}
    assert key.ends({"cap_width": 24}) == {("large",)}
    assert key.ends({"cap_width": 22}) == key.ends({}) == {("small",), ("large",)}
    near = make_key([small, taxon("large", cap_width=Interval(23, 60))], vocabulary())
    assert near.leaves == {("large", "small")}


def test_states_that_are_taken_for_one_another_are_never_on_different_leads():
    for couplet in key_to("fungus").couplets:
        first, second = (lead.test for lead in couplet.leads)
        if isinstance(first, frozenset) and isinstance(second, frozenset):
            assert not vocabulary().characters[couplet.character].widened(first) & second


def test_a_place_never_sends_a_deadly_taxon_down_one_lead():
    beech = taxon("beech", host=states("beech"))
    assert make_key([beech, taxon("pine", host=states("pine"))], vocabulary()).couplets
    assert not make_key([beech, taxon("pine", host=states("pine"), edibility="deadly")], vocabulary()).couplets


def test_costs_and_weights():
    assert EFFORT_COST == {"glance": 1, "hand": 2, "cut": 4}
    assert UNRELIABILITY == {"steady": 1, "varies": 1.5, "unreliable": 3}
    assert DANGER_WEIGHT == {"poisonous": 2, "deadly": 4}
    assert cost(vocabulary().characters["ring"]) == 6


def test_the_cheaper_and_steadier_character_is_asked():
    look = {"underside": states("gills"), "gill_attachment": states("free"), "cap_colour": states("white")}
    other = {"underside": states("pores"), "cap_colour": states("black")}
    key = make_key([taxon("one", **look), taxon("other", **other)], vocabulary())
    assert [couplet.character for couplet in key.couplets] == ["underside"]


@pytest.mark.parametrize("feared", ["t0", "t1", "t2"])
def test_danger_comes_early(feared: str):
    kinds = {f"t{place}": one for place, one in enumerate(("none", "white", "orange"))}
    taxa = [
        taxon(name, latex=states(latex), edibility="deadly" if name == feared else "choice")
        for name, latex in kinds.items()
    ]
    key = make_key(taxa, vocabulary())
    assert {name: key.length_of(name) for name in kinds} == {name: 1 if name == feared else 2 for name in kinds}


def test_what_is_met_often_comes_early():
    taxa = [taxon(f"t{place}", latex=states(one)) for place, one in enumerate(("none", "white", "orange"))]
    often = make_key(taxa, vocabulary(), chance={"t0": 100})
    assert often.length_of("t0") == 1
    seldom = make_key(taxa, vocabulary(), chance={"t0": 0.001, "t1": 100})
    assert seldom.length_of("t1") == 1


def test_the_order_of_the_accounts_changes_nothing():
    taxa = list(group("fungus").values())
    assert make_key(reversed(taxa), vocabulary()) == key_to("fungus")


def test_a_key_is_to_one_group():
    with pytest.raises(ValueError, match="one group at a time, and these are of fungus, plant"):
        make_key([taxon("one"), taxon("other", group="plant")], vocabulary())


def test_a_key_to_one_taxon_or_none_has_no_couplets():
    assert make_key([taxon("one")], vocabulary()).ends({}) == {("one",)}
    assert make_key([], vocabulary()).leaves == {()}


def test_a_reader_follows_the_lead_that_names_what_is_seen_and_else_both():
    white, red = states("white"), states("red")
    assert (follows(white, red, "white"), follows(red, white, "white")) == (True, False)
    assert (follows(white, red, "orange"), follows(red, white, "orange")) == (True, True)
    assert (follows(white, red, None), follows(red, white, None)) == (True, True)


def test_the_bits_of_a_mask():
    assert list(bits(0b101001)) == [0, 3, 5]


def test_leads_are_printed_in_words():
    told = printed(make_key([taxon("one", cap_width=Interval(10, 20)), taxon("two", cap_width=Interval(50, 90))],
                            vocabulary()), vocabulary())  # fmt: skip
    width = vocabulary().characters["cap_width"].label
    assert [(lead.number, lead.says, lead.to) for lead in told] == [
        (1, f"{width}: up to 20 mm", ("one",)),
        (1, f"{width}: 5 cm or more", ("two",)),
    ]


def test_a_leaf_says_what_is_not_settled_and_what_was_not_in_the_key():
    unlisted = Lookalike(None, "", (), group_name="Small grey ones", feared="deadly")
    food = taxon("food", latex=states("none"), lookalikes=(unlisted,))
    thin = taxon("thin", latex=states("red"))
    inside = {one.taxon: one for one in (food, thin)}
    killer = taxon("killer", edibility="deadly", role="danger")
    shore = taxon("shore", edibility="deadly", role="danger", group="seaweed")
    note = leaf_note(("food",), inside, {**inside, "killer": killer, "shore": shore}, vocabulary())
    assert note.not_settled == (("food", "thin", Verdict.THIN),)
    assert note.outside == ("killer", "Small grey ones")
    assert note.near == ("killer", "Small grey ones")


@pytest.mark.parametrize(("number", "joined"), [(12, True), (13, False)])
def test_pairs_of_values_make_couplets_while_they_are_few(number: int, joined: bool):
    """Twelve values of one character are joined two by two; more would cost more than they gain."""
    colours = list(vocabulary().characters["cap_colour"].states)[:number]
    taxa = [taxon(f"t{place:02}", cap_colour=states(colour)) for place, colour in enumerate(colours)]
    values = {one.taxon: {"cap_colour": one.value("cap_colour")} for one in taxa}
    found = splits(taxa, values, [vocabulary().characters["cap_colour"]])
    assert (len(found) > 2 * number) is joined
    assert (BREADTH, FEW_VALUES) == (3, 12)
