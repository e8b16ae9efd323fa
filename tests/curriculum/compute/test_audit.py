"""The audit of all accounts: what is considered, what is found and why, worst first."""

import dataclasses
import json

import pytest

from curriculum.compute.account import UNKNOWN, Account, Interval, Lookalike, Season, Separator, Toxicology
from curriculum.compute.audit import SIMILAR_FROM, Audit, Cause, Check, audit
from curriculum.compute.contradictions import LETHAL_SYNDROMES, MOST_TIMES, NEVER_WIDER, contradictions
from curriculum.compute.separation import Verdict, separate, visible
from curriculum.compute.universe import may_be_confused
from tests.curriculum.compute.files import accounts, vocabulary
from tests.curriculum.compute.taxa import states, taxon


def of(*taxa: Account) -> Audit:
    return audit({one.taxon: one for one in taxa}, vocabulary())


def same_looks(name: str, characters: int, **facts: object) -> Account:
    """A taxon with the first state of so many characters of fungi, in the order of the vocabulary."""
    plain = [one for one in vocabulary().characters_of("fungus").values() if one.kind == "states" and one.counts]
    return taxon(name, **{one.key: states(next(iter(one.states))) for one in plain[:characters]}, **facts)


def test_pairs_of_a_taught_taxon_are_considered_and_the_others_counted_by_filter():
    found = of(
        taxon("food", habitat=states("dunes"), season=Season((6,))),
        taxon("danger", role="danger", habitat=states("dunes")),
        taxon("moor", role="danger", habitat=states("moor")),
        taxon("winter", role="danger", season=Season((12,))),
        taxon("shore", role="danger", group="seaweed"),
    )
    assert found.considered == 1
    assert found.excluded == {"habitat": 1, "months": 1, "group": 1}


def test_an_audit_says_what_a_separation_says():
    by_pair = {(one.this, one.other): one for one in audit(accounts(), vocabulary()).pairs}
    taught = [(a, b) for a in accounts().values() for b in accounts().values() if a.taxon < b.taxon]
    for this, other in taught:
        if "taught" in (this.role, other.role) and may_be_confused(this, other, vocabulary()):
            separation = separate(this, other, vocabulary())
            listed = by_pair.get((this.taxon, other.taxon))
            assert (listed.verdict if listed else Verdict.SETTLED) == separation.verdict
            assert listed is None or listed.groups == separation.groups


def test_ignorance_and_overlap_are_told_apart():
    every = vocabulary().characters_of("fungus").values()
    known = {
        one.key: Interval(10, 20) if one.kind == "range" else states(next(iter(one.states)))
        for one in every
        if one.controlled_by is None
    }
    rest = {one.key: states(next(iter(one.states))) for one in every if one.controlled_by and one.kind == "states"}
    ranges = {one.key: Interval(10, 20) for one in every if one.controlled_by and one.kind == "range"}
    found = of(taxon("food", **known, **rest, **ranges), taxon("danger", role="danger", **known, **rest, **ranges))
    assert [one.this for one in found.unsettled(Cause.OVERLAP)] == ["food"]
    found = of(taxon("food", **known), taxon("danger", role="danger", **known))
    assert [one.this for one in found.unsettled(Cause.IGNORANCE)] == ["food"]
    assert "gill_form" in found.pairs[0].open_groups


def test_the_worst_comes_first():
    looks = {"latex": states("none")}
    found = of(
        taxon("food", **looks),
        taxon("a-thin", role="danger", edibility="deadly", latex=states("red")),
        taxon("b-poisonous", role="danger", edibility="poisonous", **looks),
        taxon("c-deadly", role="danger", edibility="deadly", **looks),
    )
    assert [one.other for one in found.pairs] == ["c-deadly", "b-poisonous", "a-thin"]


def test_a_lookalike_without_an_account_is_unsettled_at_what_is_feared():
    rows = Lookalike(None, "", (), group_name="Small ones", feared="poisonous"), Lookalike("nowhere", "", ())
    found = of(taxon("food", lookalikes=rows))
    assert [(one.lookalike, one.feared) for one in found.without_account] == [
        ("nowhere", "deadly"),
        ("Small ones", "poisonous"),
    ]


@pytest.mark.parametrize(("characters", "similar", "too_little"), [(7, 0, 1), (8, 1, 0), (9, 1, 0)])
def test_alike_and_not_listed_needs_eight_comparables(characters: int, similar: int, too_little: int):
    pair = same_looks("food", characters), same_looks("danger", characters, role="danger")
    found = of(*pair)
    assert (len(found.similar), len(found.too_little_known)) == (similar, too_little)
    listed = of(pair[0], same_looks("danger", characters, role="danger", lookalikes=(Lookalike("food", "", ()),)))
    assert (len(listed.similar), len(listed.too_little_known)) == (0, 0)


@pytest.mark.parametrize("different", range(7))
def test_alike_begins_at_nine_tenths(different: int):
    """What nobody recorded counts as alike, so that the share is of all characters seen in the field."""
    plain = same_looks("food", 12).characters["all"]
    last = {key: states(list(vocabulary().characters[key].states)[-1]) for key in list(plain)[:different]}
    assert SIMILAR_FROM == 0.9
    found = of(taxon("food", **plain), taxon("danger", role="danger", **{**plain, **last}))
    every = sum(visible(one) for one in vocabulary().characters_of("fungus").values())
    assert bool(found.similar) is (1 - different / every >= 0.9)
    assert [one.score for one in found.similar] in ([], [pytest.approx(1 - different / 12)])


def test_written_separators_are_held_to_the_characters():
    rows = tuple(Separator(key, "", "") for key in ("latex", "cap_colour", "ring", "stem_base"))
    food = taxon("food", lookalikes=(Lookalike("danger", "", rows),), latex=states("none"), cap_colour=states("white"),
                 ring=states("hanging", "absent"))  # fmt: skip
    danger = taxon("danger", role="danger", latex=states("red"), cap_colour=states("cream"), ring=states("absent"))
    found = of(food, danger)
    assert {one.character: one.check for one in found.separators} == {
        "latex": Check.CONFIRMED,
        "cap_colour": Check.CONTRADICTED,
        "ring": Check.ONE_WAY,
        "stem_base": Check.NOT_CHECKED,
    }


def test_an_audit_becomes_json():
    told = json.loads(json.dumps(audit(accounts(), vocabulary()).as_json()))
    assert told["considered"] > 100
    assert set(told["pairs"][0]) >= {"this", "other", "verdict", "cause", "danger"}


@pytest.mark.parametrize(("part", "whole"), NEVER_WIDER)
def test_a_part_is_smaller_than_the_whole(part: str, whole: str):
    group = next(iter(vocabulary().characters[part].groups))
    fits = taxon("one", group=group, **{part: Interval(5, 9), whole: Interval(5, 10)})
    assert _proportions(fits) == 0
    assert _proportions(taxon("one", group=group, **{part: Interval(5, 10), whole: Interval(5, 10)})) == 1


@pytest.mark.parametrize(("larger", "smaller", "times"), MOST_TIMES)
def test_a_part_is_not_many_times_another(larger: str, smaller: str, times: int):
    fits = taxon("one", **{larger: Interval(20, 10 * times), smaller: Interval(1, 10)})
    assert _proportions(fits) == 0
    assert _proportions(taxon("one", **{larger: Interval(20, 10 * times + 1), smaller: Interval(1, 10)})) == 1


def test_the_proportions_that_are_held():
    assert MOST_TIMES == (
        ("cap_width", "stem_width", 30),
        ("stem_length", "cap_width", 6),
        ("stem_length", "stem_width", 50),
    )


def _proportions(one: Account) -> int:
    return len(contradictions({one.taxon: one}, vocabulary()))


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("4 to 20 cm", 0),
        ("40-200 mm", 0),
        ("usually over 150 mm", 0),
        ("usually over 250 mm", 1),
        ("4 to 20 mm", 1),
        ("egg size", 0),
        ("2 m", 1),
    ],
)
def test_figures_in_words_lie_inside_the_range(text: str, found: int):
    named = (Lookalike(None, "", (Separator("cap_width", text, ""),), group_name="Others", feared="inedible"),)
    assert _proportions(taxon("one", cap_width=Interval(40, 200), lookalikes=named)) == found


@pytest.mark.parametrize("syndrome", sorted(vocabulary().terms["syndrome"]))
def test_a_lethal_syndrome_needs_a_deadly_verdict(syndrome: str):
    """Common practice, no source; which syndromes kill is a list of ours."""
    kills = {"amatoxin", "orellanine", "gyromitrin", "paxillus", "encephalopathy", "cardiac_glycoside", "colchicine",
             "polyyne", "coniine", "aconitine", "taxine"}  # fmt: skip
    poison = Toxicology(syndrome, (), UNKNOWN, ("sickness",))
    milder = dataclasses.replace(taxon("one", role="danger", edibility="poisonous"), toxicology=poison)
    assert _proportions(milder) == int(syndrome in kills)
    assert _proportions(dataclasses.replace(milder, edibility="deadly")) == 0
    assert kills == LETHAL_SYNDROMES


def test_what_contradicts_itself_in_verdict_and_lookalikes_is_found():
    assert _proportions(taxon("one", role="danger", edibility="inedible")) == 1
    assert _proportions(taxon("one", role="danger", edibility="deadly")) == 1
    poison = Toxicology("gut_irritant", (), UNKNOWN, ("sickness",))
    killer = dataclasses.replace(taxon("killer", role="danger", edibility="deadly"), toxicology=poison)
    food = taxon("food", lookalikes=(Lookalike("killer", "", ()),))
    found = contradictions({"food": food, "killer": killer}, vocabulary())
    assert [(one.taxon, one.what) for one in found] == [
        ("food", "it names killer as a lookalike, and is not named in turn")
    ]
    looked = dataclasses.replace(taxon("one"), look_order=("ring",))
    assert [one.what for one in contradictions({"one": looked}, vocabulary())] == [
        "it says to look at ring or veil on the stem, and records nothing of it"
    ]
