"""Risk matrices: the cells of the default, the floor under a possible death, and which matrices are refused."""

import copy
from itertools import product
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.walks.compute.risk_cases import FIVE_BY_FIVE, MATRICES, MATRICES_FILE
from walks.compute.risk_matrix import Score, matrices_from
from walks.compute.strict_tables import TablesRefused

SCORES = st.builds(Score, st.integers(1, 5), st.integers(1, 5))

# Rows: likelihood 1 to 5; columns: severity 1 to 5. Worked by hand from the limits 4, 9, 16, 25 and the floor.
BY_HAND = """
low    low    low    low       medium
low    low    medium medium    high
low    medium medium high      high
low    medium high   high      very_high
medium high   high   very_high very_high
"""


def test_every_cell_of_the_default_is_as_worked_by_hand():
    words = [row.split() for row in BY_HAND.strip().splitlines()]
    expected = {(n, m): words[n - 1][m - 1].replace("_", " ") for n, m in product(range(1, 6), range(1, 6))}
    assert {(n, m): FIVE_BY_FIVE.level(Score(n, m)) for n, m in expected} == expected


def test_fourteen_products_can_occur():
    products = {Score(n, m).product for n, m in product(range(1, 6), range(1, 6))}
    assert sorted(products) == [1, 2, 3, 4, 5, 6, 8, 9, 10, 12, 15, 16, 20, 25]


@pytest.mark.parametrize("matrix", MATRICES.values(), ids=lambda matrix: matrix.key)
@given(score=SCORES, more=SCORES)
def test_a_higher_rating_never_lowers_the_level(matrix, score, more):
    assert matrix.rank(score.joined(more)) >= matrix.rank(score)


@pytest.mark.parametrize("matrix", MATRICES.values(), ids=lambda matrix: matrix.key)
@pytest.mark.parametrize("likelihood", range(1, 6))
def test_a_possible_death_is_never_below_medium(matrix, likelihood):
    assert matrix.rank(Score(likelihood, 5)) >= matrix.levels.index("medium")


def test_the_floor_holds_where_a_business_widens_the_lowest_band():
    content = copy.deepcopy(MATRICES_FILE)
    content["matrix"][0]["band"][0]["up_to"] = 8
    matrix = matrices_from("ours.toml", content)["five-by-five"]
    assert (matrix.level(Score(2, 4)), matrix.level(Score(1, 5))) == ("low", "medium")


def test_no_rating_reads_as_eliminated():
    matrix = MATRICES["mil-std-882e"]
    assert matrix.cell("F", "1") == "eliminated"
    levels = {matrix.level(Score(n, m)) for n, m in product(range(1, 6), range(1, 6))}
    assert levels == {"low", "medium", "serious", "high"}


def test_the_first_matrix_is_the_default():
    assert next(iter(MATRICES)) == "five-by-five"


def test_labels_are_those_of_the_step_that_a_rating_reads_as():
    matrix = MATRICES["mil-std-882e"]
    assert [matrix.severity.label(n) for n in range(1, 6)] == [
        "negligible", "negligible", "marginal", "critical", "catastrophic",
    ]  # fmt: skip
    assert FIVE_BY_FIVE.likelihood.label(5) == "almost certain"


@pytest.mark.parametrize(("likelihood", "severity"), [(0, 3), (6, 3), (3, 0), (3, 6)])
def test_a_rating_outside_one_to_five_is_refused(likelihood, severity):
    with pytest.raises(ValueError, match="run from 1 to 5"):
        Score(likelihood, severity)


@given(first=SCORES, second=SCORES)
def test_a_joined_score_exceeds_neither_of_its_own_ratings_but_covers_both(first, second):
    joined = first.joined(second)
    assert not first.exceeds(joined)
    assert not second.exceeds(joined)
    assert joined == second.joined(first)


def _default(change: dict[str, Any], drop: str = "") -> dict[str, Any]:
    content = copy.deepcopy(MATRICES_FILE)
    content["matrix"][0] |= change
    content["matrix"][0].pop(drop, None)
    return content


def _cell(row: str, column: str, level: str) -> dict[str, Any]:
    content = copy.deepcopy(MATRICES_FILE)
    content["matrix"][1]["cells"][row][column] = level
    return content


@pytest.mark.parametrize(
    ("content", "expected"),
    [
        (_default({"bands": []}), "matrix[1].bands: this key is not known here"),
        (_default({}, "source"), "matrix[1].source: expected a text, found nothing"),
        (_default({"band": [{"up_to": 9, "level": "low"}, {"up_to": 4, "level": "high"}]}), "expected rising limits"),
        (_default({"band": [{"up_to": 24, "level": "low"}]}), "expected rising limits, the last one 25"),
        (_default({"band": []}), "expected rising limits, the last one 25"),
        (_default({"levels": ["low", "high", "very high"]}), "expected 'medium' to be among them"),
        (_default({"likelihood": MATRICES_FILE["matrix"][1]["likelihood"]}), "a step for each rating from 1 to 5"),
        (_default({"floor": [{"severity": 5, "level": "mediun"}]}), "did you mean 'medium'?"),
        (_cell("A", "1", "low"), "never falls as likelihood or severity rises"),
        (_cell("E", "1", "low"), "never to be below medium"),
        ({}, "matrix: expected a list of tables, found nothing"),
    ],
)
def test_a_matrix_that_cannot_be_trusted_is_refused(content, expected):
    with pytest.raises(TablesRefused) as refusal:
        matrices_from("ours.toml", content)
    assert expected in str(refusal.value)
    assert {problem.file for problem in refusal.value.problems} == {"ours.toml"}
