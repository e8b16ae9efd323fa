import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curriculum.compute.half_months import half_month, half_month_weights

months = st.sets(st.integers(1, 12))


@pytest.mark.parametrize(
    ("day", "expected"),
    [((2027, 1, 1), 0), ((2027, 1, 15), 0), ((2027, 1, 16), 1), ((2028, 2, 29), 3), ((2027, 12, 31), 23)],
)
def test_the_half_month_of_a_day(day: tuple[int, int, int], expected: int):
    assert half_month(datetime.date(*day)) == expected


def test_every_day_of_a_leap_year_has_a_half_month_and_they_never_go_back():
    first = datetime.date(2028, 1, 1)
    halves = [half_month(first + datetime.timedelta(days=number)) for number in range(366)]
    assert sorted(set(halves)) == list(range(24))
    assert halves == sorted(halves)


def test_a_season_steps_in_rises_to_its_peak_and_steps_out():
    weights = half_month_weights([8, 9, 10], [9])
    assert weights[14:20] == pytest.approx((1 / 3, 5 / 6, 1, 1, 5 / 6, 1 / 3))
    assert set(weights[:14] + weights[20:]) == {0}


def test_the_new_year_is_no_seam():
    assert half_month_weights([11, 12, 1, 2])[20:] == pytest.approx((1 / 3, 2 / 3, 2 / 3, 2 / 3))
    assert half_month_weights([11, 12, 1, 2])[:4] == pytest.approx((2 / 3, 2 / 3, 2 / 3, 1 / 3))


@given(months, months)
def test_weights_are_out_exactly_outside_the_months_and_one_exactly_at_the_peak(season: set[int], peak: set[int]):
    for half, weight in enumerate(half_month_weights(season | peak, peak)):
        month = half // 2 + 1
        assert (weight == 0) == (month not in season | peak)
        assert (weight == 1) == (month in peak)
        assert weight == 0 or weight >= 1 / 3


@given(months, months, st.integers(0, 11))
def test_turning_the_months_turns_the_weights(season: set[int], peak: set[int], by: int):
    def turned(some: set[int]) -> set[int]:
        return {(month - 1 + by) % 12 + 1 for month in some}

    weights = half_month_weights(season, peak)
    moved = half_month_weights(turned(season), turned(peak))
    assert moved == tuple(weights[(half - 2 * by) % 24] for half in range(24))
