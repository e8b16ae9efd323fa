"""Closed seasons: read as people write them, kept, and held against every day of a year."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from walks.compute.closed_seasons import ClosedSeason, SeasonRefused, season_from, seasons_in

YEARS = (2027, 2028)
DAYS = [date(year, 1, 1) + timedelta(days=n) for year in YEARS for n in range(365)]
month_days = st.dates(date(2028, 1, 1), date(2028, 12, 31)).map(lambda day: (day.month, day.day))


@pytest.mark.parametrize(
    ("written", "first", "last"),
    [
        ("1 March to 31 July", (3, 1), (7, 31)),
        ("  15 oct until 1 Feb. ", (10, 15), (2, 1)),
        ("1 May – 1 May", (5, 1), (5, 1)),
        ("29 February to 1 March", (2, 29), (3, 1)),
    ],
)
def test_reads_what_people_write(written: str, first: tuple[int, int], last: tuple[int, int]) -> None:
    assert seasons_in(written) == (ClosedSeason(first, last),)


def test_reads_one_a_line_and_nothing_from_nothing() -> None:
    assert [one.words for one in seasons_in("1 March to 31 July\n\n1 November to 1 February\n")] == [
        "1 March to 31 July",
        "1 November to 1 February",
    ]
    assert seasons_in(" \n") == ()


@pytest.mark.parametrize(
    ("written", "why"),
    [
        ("March to July", "no part of the year that can be read"),
        ("1 Mar", "no part of the year that can be read"),
        ("31 June to 1 July", "June has no day 31"),
        ("0 June to 1 July", "June has no day 0"),
        ("1 Smarch to 1 July", "names no month with “Smarch”"),
    ],
)
def test_says_what_is_wrong_and_what_a_good_one_looks_like(written: str, why: str) -> None:
    with pytest.raises(SeasonRefused) as refused:
        seasons_in(f"1 May to 2 May\n{written}")
    assert f"“{written}”" in str(refused.value)
    assert why in str(refused.value)
    assert str(refused.value).endswith("Write it so: 1 March to 31 July.")


def test_both_ends_are_closed_and_so_is_the_new_year() -> None:
    spring, winter = ClosedSeason((3, 1), (7, 31)), ClosedSeason((11, 15), (2, 1))
    for day, in_spring, in_winter in (
        ((2, 28), False, False),
        ((3, 1), True, False),
        ((7, 31), True, False),
        ((8, 1), False, False),
        ((11, 14), False, False),
        ((11, 15), False, True),
        ((12, 31), False, True),
        ((1, 1), False, True),
        ((2, 1), False, True),
        ((2, 2), False, False),
    ):
        assert (spring.holds(date(2027, *day)), winter.holds(date(2027, *day))) == (in_spring, in_winter), day


@given(month_days, month_days)
def test_a_season_and_what_is_left_share_the_year(first: tuple[int, int], last: tuple[int, int]) -> None:
    """Second implementation: walk from the first day until the last one is met."""
    season = ClosedSeason(first, last)
    year = [(day.month, day.day) for day in DAYS if day.year == 2028] + [(12, 31)]
    start = year.index(first)
    closed = {year[(start + n) % 366] for n in range((year.index(last) - start) % 366 + 1)}
    assert {(day.month, day.day) for day in DAYS if day.year == 2028 and season.holds(day)} == closed - {(12, 31)}


@given(month_days, month_days)
def test_what_is_kept_is_read_again(first: tuple[int, int], last: tuple[int, int]) -> None:
    season = ClosedSeason(first, last)
    assert season_from(season.stored) == season
    assert seasons_in(season.words) == (season,)
