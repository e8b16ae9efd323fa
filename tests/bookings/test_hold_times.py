"""How long places are held, at every edge and through both changes of the clocks."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bookings.compute.hold_times import (
    MOST_EXTENSIONS,
    checkout_end,
    is_night,
    is_too_late_for_offers,
    offer_end,
)

LONDON = ZoneInfo("Europe/London")


def london(day: int, hour: int, minute: int = 0, month: int = 9) -> datetime:
    return datetime(2026, month, day, hour, minute, tzinfo=LONDON)


def test_a_checkout_is_twenty_minutes_and_never_outlasts_the_session() -> None:
    now = london(14, 12)
    assert checkout_end(now, session_ends_at=None) == now + timedelta(minutes=20)
    assert checkout_end(now, session_ends_at=now + timedelta(minutes=19)) == now + timedelta(minutes=19)
    assert checkout_end(now, session_ends_at=now + timedelta(minutes=21)) == now + timedelta(minutes=20)
    assert MOST_EXTENSIONS == 10


@pytest.mark.parametrize(
    ("hour", "minute", "night"), [(7, 59, True), (8, 0, False), (21, 0, False), (21, 1, True), (0, 0, True)]
)
def test_the_edges_of_the_night(hour: int, minute: int, night: bool) -> None:
    assert is_night(london(14, hour, minute), LONDON) is night


@pytest.mark.parametrize(
    ("now", "starts", "end"),
    [
        (london(14, 12), london(20, 10), london(15, 12)),  # a whole day
        (london(14, 21), london(20, 10), london(15, 21)),  # the last moment of the day
        (london(14, 21, 1), london(20, 10), None),  # none is made in the night
        (london(19, 12), london(20, 10), london(20, 8)),  # two hours before the walk
        (london(19, 12), london(20, 9, 59), london(19, 21)),  # that would be night: the evening before
        (london(19, 19), london(20, 9, 59), london(19, 21)),  # two hours at least
        (london(19, 19, 1), london(20, 9, 59), None),
        (london(20, 8), london(20, 12), london(20, 10)),
        (london(20, 8, 1), london(20, 12), None),
    ],
)
def test_an_offer_ends_where_it_should(now: datetime, starts: datetime, end: datetime | None) -> None:
    assert offer_end(now, starts, LONDON) == end


def test_at_night_the_list_is_not_over_if_the_morning_leaves_time() -> None:
    assert not is_too_late_for_offers(london(19, 23), london(20, 12), LONDON)
    assert is_too_late_for_offers(london(19, 23), london(20, 11, 59), LONDON)
    assert not is_too_late_for_offers(london(20, 3), london(20, 12), LONDON)


@given(
    st.integers(0, 730 * 24 * 60),
    st.integers(0, 20 * 24 * 60),
    st.sampled_from(["Europe/London", "Australia/Lord_Howe", "America/St_Johns"]),
)
def test_an_offer_keeps_every_bound(moment: int, minutes: int, name: str) -> None:
    now, zone = datetime(2026, 1, 1, tzinfo=UTC) + timedelta(minutes=moment), ZoneInfo(name)
    starts = now + timedelta(minutes=minutes)
    end = offer_end(now, starts, zone)
    if end is not None:
        assert timedelta(hours=2) <= end - now <= timedelta(hours=24)
        assert end <= starts - timedelta(hours=2)
        assert not is_night(end, zone)
        assert not is_night(now, zone)
        assert not is_too_late_for_offers(now, starts, zone)
