"""Similarity: scores on sets and ranges, bounds, and what ignorance does to the upper bound.

Single values are held to published figures in tests/published; for ranges the difference of Ichino and Yaguchi is
written out here a second time, from join and meet.
"""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from curriculum.compute.account import ALL, INAPPLICABLE, UNKNOWN, Account, Interval, Value
from curriculum.compute.separation import values_at
from curriculum.compute.similarity import ENOUGH_COMPARABLES, Similarity, similarity, spans
from tests.curriculum.compute.files import vocabulary
from tests.curriculum.compute.taxa import SOME, any_taxon, any_value, some_vocabulary, states, with_value

COLOUR, WIDTH = vocabulary().characters["cap_colour"], vocabulary().characters["cap_width"]
KEYS = ("form", "cap_width", "cap_colour", "latex", "stem_width")


def of_colours(this: Value, other: Value) -> Similarity:
    return similarity({"cap_colour": this}, {"cap_colour": other}, [COLOUR], {})


def of_widths(this: Value, other: Value, span: float = 100) -> Similarity:
    return similarity({"cap_width": this}, {"cap_width": other}, [WIDTH], {"cap_width": span})


@pytest.mark.parametrize(
    ("this", "other", "score", "low", "high"),
    [
        (states("white"), states("white"), 1, 1, 1),
        (states("white"), states("black"), 0, 0, 0),
        (states("white"), states("white", "black"), 0.5, 0, 1),
        (states("white", "black"), states("white", "black"), 1, 0, 1),
        (states("white", "red"), states("white", "black"), 1 / 3, 0, 1),
    ],
)
def test_states_score_what_they_share_of_all(this: Value, other: Value, score: float, low: float, high: float):
    found = of_colours(this, other)
    assert (found.score, found.low, found.high) == (pytest.approx(score), low, high)


@pytest.mark.parametrize(
    ("this", "other", "score", "low", "high"),
    [
        (Interval(10, 10), Interval(10, 10), 1, 1, 1),
        (Interval(10, 10), Interval(30, 30), 0.8, 0.8, 0.8),
        (Interval(0, 20), Interval(30, 50), 0.7, 0.5, 0.9),
        (Interval(0, 100), Interval(40, 60), 0.6, 0.4, 1),
    ],
)
def test_ranges_score_the_distance_of_their_ends(this: Value, other: Value, score: float, low: float, high: float):
    found = of_widths(this, other)
    assert (found.score, found.low, found.high) == (pytest.approx(score), pytest.approx(low), pytest.approx(high))


@given(*[st.integers(0, 100)] * 4)
def test_ranges_follow_ichino_and_yaguchi_with_half_a_gamma(a: int, b: int, c: int, d: int):
    this, other = Interval(min(a, b), max(a, b)), Interval(min(c, d), max(c, d))
    join = max(this.high, other.high) - min(this.low, other.low)
    meet = max(0, min(this.high, other.high) - max(this.low, other.low))
    lengths = this.high - this.low + other.high - other.low
    difference = join - meet + 0.5 * (2 * meet - lengths)
    assert of_widths(this, other).score == pytest.approx(1 - difference / 100)


def test_unknown_spreads_the_bounds_and_inapplicable_weighs_nothing():
    assert of_colours(UNKNOWN, states("white")) == Similarity(None, 0, 1, 0, 1)
    assert of_colours(INAPPLICABLE, states("white")) == Similarity(None, 0, 1, 0, 0)
    both = similarity(
        {"cap_colour": UNKNOWN, "cap_width": Interval(1, 1)},
        {"cap_colour": states("red"), "cap_width": Interval(1, 1)},
        [COLOUR, WIDTH],
        {"cap_width": 10},
    )
    assert both == Similarity(1, 0.5, 1, 1, 1)


def test_a_character_in_which_all_measure_the_same_makes_nothing_differ():
    assert of_widths(Interval(5, 5), Interval(5, 5), span=0).score == 1


def test_states_and_a_range_of_one_character_are_refused():
    with pytest.raises(TypeError, match="a set of states in one taxon and a range in another"):
        of_widths(Interval(1, 2), states("white"))


def test_spans_reach_over_all_taxa():
    values = [{"cap_width": Interval(5, 10)}, {"cap_width": Interval(7, 30)}, {"cap_width": UNKNOWN}, {}]
    assert spans(values) == {"cap_width": 25}


def test_the_number_of_comparables_for_a_threshold():
    assert ENOUGH_COMPARABLES == 8


@settings(max_examples=100, deadline=None)
@given(any_taxon("one", KEYS), any_taxon("other", KEYS))
def test_the_score_is_symmetric_and_within_its_bounds(one: Account, other: Account):
    characters = [some_vocabulary().characters[key] for key in SOME]
    ours, theirs = (values_at(taxon, ALL, characters) for taxon in (one, other))
    wide = spans([ours, theirs])
    found = similarity(ours, theirs, characters, wide)
    assert found == similarity(theirs, ours, characters, wide)
    assert 0 <= found.low <= found.high <= 1
    own = similarity(ours, ours, characters, wide)
    assert own.score in (None, 1)


@settings(max_examples=100, deadline=None)
@given(any_taxon("one", KEYS), any_taxon("other", KEYS), st.sampled_from(KEYS), st.data())
def test_ignorance_never_lowers_the_upper_bound(one: Account, other: Account, key: str, data: st.DataObject):
    characters = [some_vocabulary().characters[key] for key in SOME]
    before, extra = one.value(key), data.draw(any_value(key))
    looser = with_value(one, key, UNKNOWN)
    if isinstance(before, frozenset) and isinstance(extra, frozenset):
        looser = with_value(one, key, before | extra)
    if isinstance(before, Interval) and isinstance(extra, Interval):
        looser = with_value(one, key, Interval(min(before.low, extra.low), max(before.high, extra.high)))
    highs = []
    for taxon in (one, looser):
        ours, theirs = (values_at(which, ALL, characters) for which in (taxon, other))
        highs.append(similarity(ours, theirs, characters, spans([ours, theirs])).high)
    assert highs[1] >= highs[0] - 1e-12
