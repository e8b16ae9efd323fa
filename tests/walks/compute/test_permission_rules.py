"""A landowner's permission: dates, closed seasons, group size, days a year."""

from __future__ import annotations

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from walks.compute.closed_seasons import ClosedSeason
from walks.compute.permission_rules import Permission, Visit, against_visit, best_of

DAY = date(2027, 5, 8)
SPRING = ClosedSeason((3, 1), (7, 31))
YEAR = Permission(date(2027, 1, 1), date(2027, 12, 31), 14, 3)


def visit(**changes: object) -> Visit:
    values = {"site": "Cast Wood", "first_day": DAY, "last_day": DAY, "fewest": 6}
    return Visit(**(values | changes))  # type: ignore[arg-type]


def permission(**changes: object) -> Permission:
    values = {"first_day": YEAR.first_day, "last_day": YEAR.last_day, "most_people": 14, "days_a_year": 3}
    return Permission(**(values | changes))  # type: ignore[arg-type]


def test_nothing_stands_against_a_visit_within_it() -> None:
    assert list(against_visit([YEAR], visit(days_taken=[DAY - timedelta(days=7), DAY]))) == []
    assert list(against_visit([permission(days_a_year=None)], visit(days_taken=_days(300)))) == []


def test_no_permission_on_the_day() -> None:
    sentence = "No landowner's permission for Cast Wood covers 2027-05-08."
    assert list(against_visit([], visit())) == [sentence]
    assert list(against_visit([permission(first_day=DAY + timedelta(days=1))], visit())) == [sentence]
    assert list(against_visit([permission(last_day=DAY - timedelta(days=1))], visit())) == [sentence]
    assert list(against_visit([permission(first_day=DAY, last_day=DAY)], visit())) == []


def test_a_closed_season_is_named() -> None:
    assert list(against_visit([permission(closed=(SPRING,))], visit())) == [
        "The landowner's permission for Cast Wood is closed from 1 March to 31 July, and so on 2027-05-08."
    ]
    assert list(against_visit([permission(closed=(ClosedSeason((5, 9), (7, 31)),))], visit())) == []


def test_another_permission_that_is_open_helps() -> None:
    shut, small = permission(closed=(SPRING,)), permission(most_people=8)
    assert list(against_visit([shut, small], visit())) == []
    assert best_of([small, shut], DAY) is small
    assert best_of([small, shut], date(2027, 9, 1)) is shut


def test_a_walk_past_midnight_needs_both_days() -> None:
    night = visit(first_day=DAY, last_day=DAY + timedelta(days=1))
    assert list(against_visit([permission(last_day=DAY)], night)) == [
        "The landowner's permission for Cast Wood ends on 2027-05-08, before the walk does."
    ]
    assert list(against_visit([permission(closed=(ClosedSeason((5, 9), (7, 31)),))], night)) == [
        "The landowner's permission for Cast Wood is closed from 9 May to 31 July, and so on 2027-05-09."
    ]


def test_the_group_must_fit_even_at_its_smallest() -> None:
    assert list(against_visit([permission(most_people=6)], visit())) == []
    assert list(against_visit([permission(most_people=5)], visit())) == [
        "The landowner's permission for Cast Wood allows 5 people at once; "
        "the fewest that the walk runs with, and our own people, are 6."
    ]


def test_days_a_year_count_days_and_not_walks() -> None:
    assert list(against_visit([YEAR], visit(days_taken=_days(2)))) == []
    assert list(against_visit([YEAR], visit(days_taken=[*_days(2), DAY]))) == []
    assert list(against_visit([YEAR], visit(days_taken=_days(3)))) == [
        "The landowner's permission for Cast Wood allows 3 days a year; with this it would be 4 in 2027."
    ]


@given(
    st.lists(st.builds(permission, most_people=st.integers(1, 20), days_a_year=st.none() | st.integers(0, 5))),
    st.integers(1, 20),
    st.integers(0, 6),
)
def test_asking_for_less_never_breaks_more(permissions: list[Permission], fewest: int, taken: int) -> None:
    def broken(people: int, days: int) -> int:
        return len(list(against_visit(permissions, visit(fewest=people, days_taken=_days(days)))))

    assert broken(fewest - 1, taken) <= broken(fewest, taken) <= broken(fewest, taken + 1)


def _days(number: int) -> list[date]:
    return [date(2027, 1, 1) + timedelta(days=n) for n in range(number)]
