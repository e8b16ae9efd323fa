"""How attendance stands after marks from several devices, and what a certificate asks for."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bookings.compute.attendance import Mark, sessions_needed, standing

TEN = datetime(2026, 10, 3, 10, tzinfo=UTC)


def mark(state: str, minutes: int = 0, by: str = "gwen", *, settles: bool = False) -> Mark:
    return Mark(state, TEN + timedelta(minutes=minutes), by, settles)


@pytest.mark.parametrize(
    ("marks", "state"),
    [
        ([], "unknown"),
        ([mark("unknown")], "unknown"),
        ([mark("present"), mark("unknown", 5, "harry")], "present"),
        ([mark("unknown", 5, "harry"), mark("present")], "present"),
        ([mark("present"), mark("absent", 5)], "absent"),
        ([mark("absent", 5), mark("present")], "absent"),
        ([mark("present"), mark("absent", 5, "harry")], "conflict"),
        ([mark("present"), mark("left_early", 90, "harry")], "left_early"),
        ([mark("present", 90), mark("left_early", 5, "harry")], "conflict"),
        ([mark("present", 5), mark("left_early", 5, "harry")], "conflict"),
        ([mark("absent"), mark("left_early", 5, "harry")], "conflict"),
    ],
)
def test_marks_are_brought_together_by_rule(marks: list[Mark], state: str) -> None:
    assert standing(marks) == state


def test_whoever_sees_all_marks_settles_them() -> None:
    contradicting = [mark("present"), mark("absent", 5, "harry")]
    assert standing([*contradicting, mark("present", 60, "olive", settles=True)]) == "present"
    assert standing([*contradicting, mark("unknown", 60, "olive", settles=True)]) == "unknown"


def test_what_arrives_after_the_settling_was_not_in_sight() -> None:
    settled = mark("present", 60, "olive", settles=True)
    assert standing([settled, mark("absent", 5, "harry")]) == "conflict"


MARKS = st.lists(
    st.builds(
        mark, st.sampled_from(["present", "absent", "left_early", "unknown"]), st.integers(0, 5), st.sampled_from("ab")
    ),
    max_size=6,
)


@given(marks=MARKS, data=st.data())
def test_law_the_order_of_arrival_does_not_matter(marks: list[Mark], data: st.DataObject) -> None:
    assert standing(data.draw(st.permutations(marks))) == standing(marks)


@given(marks=MARKS)
def test_law_not_knowing_changes_nothing(marks: list[Mark]) -> None:
    assert standing([*marks, mark("unknown", 9, "c")]) == standing(marks)


@pytest.mark.parametrize(
    ("sessions", "percent", "needed"),
    [(4, 75, 3), (4, 76, 4), (3, 75, 3), (3, 66, 2), (3, 67, 3), (1, 1, 1), (1, 100, 1), (20, 5, 1), (7, 100, 7)],
)
def test_a_share_is_rounded_up_to_whole_sessions(sessions: int, percent: int, needed: int) -> None:
    assert sessions_needed(sessions, percent) == needed


@pytest.mark.parametrize(("sessions", "percent"), [(0, 75), (4, 0), (4, 101)])
def test_no_share_of_nothing(sessions: int, percent: int) -> None:
    with pytest.raises(ValueError, match="is no share"):
        sessions_needed(sessions, percent)
