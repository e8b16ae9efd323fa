"""One character of two taxa: disjoint, one way, or no help. The constants are held from both sides."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curriculum.compute.account import INAPPLICABLE, UNKNOWN, Interval, Value
from curriculum.compute.comparison import Outcome, apart, beyond, compare, disjoint
from tests.curriculum.compute.files import vocabulary
from tests.curriculum.compute.taxa import any_value, states

WIDTH = vocabulary().characters["cap_width"]
COLOUR = vocabulary().characters["cap_colour"]


@pytest.mark.parametrize(
    ("lower", "upper", "expected"),
    [
        (5, 7, False),
        (5, 7.01, True),
        (5, 8, True),
        (100, 114, False),
        (100, 115, False),
        (100, 115.01, True),
        (100, 116, True),
        (13, 15, False),
        (13, 15.01, True),
        (14, 16.05, False),
        (14, 16.2, True),
        (10, 10, False),
        (20, 10, False),
    ],
)
def test_measures_are_apart_beyond_two_millimetres_and_fifteen_per_cent(lower: float, upper: float, expected: bool):
    assert apart(lower, upper) is expected


@pytest.mark.parametrize(
    ("this", "other", "expected"),
    [
        (states("white"), states("white"), Outcome.OVERLAPS),
        (states("white"), states("cream"), Outcome.OVERLAPS),
        (states("white"), states("black"), Outcome.BOTH_WAYS),
        (states("white", "black"), states("white"), Outcome.ONE_WAY),
        (states("white"), states("ivory", "black"), Outcome.ONE_WAY),
        (UNKNOWN, states("white"), Outcome.UNKNOWN),
        (UNKNOWN, UNKNOWN, Outcome.UNKNOWN),
        (INAPPLICABLE, states("white"), Outcome.NOT_COMPARABLE),
        (INAPPLICABLE, UNKNOWN, Outcome.NOT_COMPARABLE),
    ],
)
def test_states_of_two_taxa(this: Value, other: Value, expected: Outcome):
    assert compare(this, other, COLOUR).outcome is expected


@pytest.mark.parametrize(
    ("this", "other", "expected"),
    [
        (Interval(10, 20), Interval(24, 40), Outcome.BOTH_WAYS),
        (Interval(10, 20), Interval(23, 40), Outcome.ONE_WAY),
        (Interval(10, 20), Interval(10, 20), Outcome.OVERLAPS),
        (Interval(10, 20), Interval(9, 21), Outcome.OVERLAPS),
        (Interval(10, 20), Interval(10, 40), Outcome.ONE_WAY),
    ],
)
def test_ranges_of_two_taxa(this: Value, other: Value, expected: Outcome):
    assert compare(this, other, WIDTH).outcome is expected


def test_one_way_names_the_taxon_that_is_excluded():
    found = compare(states("white", "black"), states("white"), COLOUR)
    assert found.excludes_other == states("black")
    assert found.excludes_this == states()


def test_the_parts_of_a_range_that_exclude_the_other_lie_beyond_the_margin():
    found = beyond(Interval(5, 100), Interval(23, 60), WIDTH)
    assert found == (Interval(5, pytest.approx(20)), Interval(69, 100))


def test_the_side_that_nobody_recorded_is_named():
    assert compare(UNKNOWN, states("white"), COLOUR).unknown_sides == ("this",)
    assert compare(UNKNOWN, UNKNOWN, COLOUR).unknown_sides == ("this", "other")


@given(any_value("cap_colour"), any_value("cap_colour"))
def test_states_compare_the_same_from_either_side(this: Value, other: Value):
    assert disjoint(this, other, COLOUR) == disjoint(other, this, COLOUR)
    assert compare(this, other, COLOUR).excludes_other == compare(other, this, COLOUR).excludes_this


@given(any_value("cap_width"), any_value("cap_width"))
def test_ranges_compare_the_same_from_either_side(this: Value, other: Value):
    assert disjoint(this, other, WIDTH) == disjoint(other, this, WIDTH)
    assert compare(this, other, WIDTH).excludes_other == compare(other, this, WIDTH).excludes_this


@given(st.floats(0.5, 500), st.floats(0.5, 500), st.floats(0.5, 500))
def test_what_excludes_one_way_is_apart_from_every_value_of_the_other(low: float, high: float, seen: float):
    other = Interval(min(low, high), max(low, high))
    excluded = bool(beyond(Interval(seen, seen), other, WIDTH))
    assert excluded == (apart(seen, other.low) or apart(other.high, seen))
