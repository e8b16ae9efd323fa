"""The key question by question: what remains, what fell by which answer, and where to beware."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from curriculum.compute.account import UNKNOWN, Account, Interval
from curriculum.compute.candidates import Fallen, candidates
from tests.curriculum.compute.files import vocabulary
from tests.curriculum.compute.taxa import SOME, any_taxon, any_value, some_vocabulary, states, taxon, with_value


def test_what_an_answer_contradicts_falls_and_names_the_answer():
    taxa = [taxon("pale", latex=states("white")), taxon("red", latex=states("red")), taxon("not-known")]
    found = candidates(taxa, {"latex": states("red")}, vocabulary())
    assert found.remaining == ("red", "not-known")
    assert found.fallen == (Fallen("pale", ("latex",), ("latex",), beware=False),)


def test_what_a_beginner_takes_for_the_answer_remains():
    taxa = [taxon("white", cap_colour=states("white")), taxon("black", cap_colour=states("black"))]
    assert candidates(taxa, {"cap_colour": states("cream")}, vocabulary()).remaining == ("white",)
    assert candidates(taxa, {"cap_colour": states("cream", "black")}, vocabulary()).remaining == ("white", "black")


@pytest.mark.parametrize(("seen", "remains"), [(7.9, False), (8, True), (20, True), (23, True), (23.1, False)])
def test_a_measure_has_the_margin(seen: float, remains: bool):
    one = taxon("one", cap_width=Interval(10, 20))
    assert bool(candidates([one], {"cap_width": seen}, vocabulary()).remaining) is remains


def test_a_dangerous_taxon_that_one_piece_of_evidence_ruled_out_stays_in_mind():
    deadly = taxon("deadly", latex=states("white"), flesh_colour=states("white"), edibility="deadly")
    answers = {"latex": states("red")}
    assert candidates([deadly], answers, vocabulary()).fallen[0].beware
    answers["flesh_colour"] = states("black")
    assert not candidates([deadly], answers, vocabulary()).fallen[0].beware
    food = taxon("food", latex=states("white"))
    assert not candidates([food], {"latex": states("red")}, vocabulary()).fallen[0].beware


def test_a_place_rules_out_no_deadly_taxon():
    food, deadly = taxon("food", host=states("pine")), taxon("deadly", host=states("pine"), edibility="deadly")
    assert candidates([food, deadly], {"host": states("beech")}, vocabulary()).remaining == ("deadly",)


def test_smell_and_taste_rule_out_nothing_and_are_said_to():
    one = taxon("one", smell=states("garlic"))
    found = candidates([one], {"smell": states("none")}, vocabulary())
    assert (found.remaining, found.unused) == (("one",), ("smell",))


def test_unknown_words_are_refused():
    with pytest.raises(KeyError):
        candidates([], {"hat": states("red")}, vocabulary())
    with pytest.raises(KeyError, match="latex has no state rde"):
        candidates([], {"latex": states("rde")}, vocabulary())


@settings(max_examples=80, deadline=None)
@given(any_taxon(), st.sampled_from(SOME), st.sampled_from(SOME), st.data())
def test_ignorance_rules_out_nothing(one: Account, asked: str, forgotten: str, data: st.DataObject):
    answer = data.draw(any_value(asked))
    if answer is UNKNOWN:
        return
    answers = {asked: (answer.low if isinstance(answer, Interval) else answer)}
    words = some_vocabulary()
    if one.taxon in candidates([one], answers, words).remaining:
        assert candidates([with_value(one, forgotten, UNKNOWN)], answers, words).remaining == (one.taxon,)
