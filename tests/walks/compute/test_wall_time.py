"""From wall time to instants: the gap, the repeated hour, and walks that cross a change of clocks."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from walks.compute.wall_time import UnknownZone, UtcSpan, WallTimeMissing, WallTimeRepeated, utc_span

THREE_HOURS = timedelta(hours=3)
LONDON = "Europe/London"
wall = datetime.fromisoformat


def test_a_summer_walk() -> None:
    assert utc_span(wall("2027-06-12 10:00"), LONDON, THREE_HOURS) == UtcSpan(
        datetime(2027, 6, 12, 9, 0, tzinfo=UTC), datetime(2027, 6, 12, 12, 0, tzinfo=UTC), fold=0
    )


def test_a_walk_over_midnight_ends_on_the_next_day() -> None:
    span = utc_span(wall("2027-12-31 22:30"), LONDON, THREE_HOURS)

    assert span.end == datetime(2028, 1, 1, 1, 30, tzinfo=UTC)


def test_a_walk_into_the_repeated_hour_lasts_as_long_as_it_is_announced() -> None:
    span = utc_span(wall("2027-10-31 00:30"), LONDON, THREE_HOURS)

    assert span.end - span.start == THREE_HOURS
    assert span.end.astimezone(ZoneInfo(LONDON)).hour == 2


def test_a_time_in_the_gap_is_refused_with_two_that_exist() -> None:
    with pytest.raises(WallTimeMissing) as refused:
        utc_span(wall("2027-03-28 01:30"), LONDON, THREE_HOURS)

    assert refused.value.offered == (wall("2027-03-28 00:30"), wall("2027-03-28 02:30"))
    assert str(refused.value) == (
        "01:30 on Sunday 28 March 2027 does not exist in Europe/London: the clocks go forward over it. "
        "Choose 00:30 or 02:30 instead."
    )


@pytest.mark.parametrize("fold", [0, 1])
def test_a_fold_does_not_open_the_gap(fold: int) -> None:
    with pytest.raises(WallTimeMissing):
        utc_span(wall("2027-03-28 01:00"), LONDON, THREE_HOURS, fold)


@pytest.mark.parametrize("time", ["00:59", "02:00"])
def test_the_edges_of_the_gap_exist(time: str) -> None:
    assert utc_span(wall(f"2027-03-28 {time}"), LONDON, THREE_HOURS).fold == 0


def test_a_gap_at_midnight_offers_a_time_on_the_day_before_with_its_date() -> None:
    with pytest.raises(WallTimeMissing, match=r"Choose 23:30 on Saturday 30 March 2024 or 01:30 instead\."):
        utc_span(wall("2024-03-31 00:30"), "Asia/Beirut", THREE_HOURS)


def test_a_repeated_time_is_refused_until_it_is_said_which() -> None:
    with pytest.raises(WallTimeRepeated) as refused:
        utc_span(wall("2027-10-31 01:30"), LONDON, THREE_HOURS)

    assert refused.value.offsets == (timedelta(hours=1), timedelta(0))
    assert str(refused.value) == (
        "01:30 on Sunday 31 October 2027 comes twice in Europe/London, because the clocks go back: first at UTC+01:00, "
        "then again at UTC+00:00. Say which of the two is meant, or choose a time that comes once."
    )


@pytest.mark.parametrize(("fold", "hour"), [(0, 0), (1, 1)])
def test_the_fold_decides_a_repeated_time(fold: int, hour: int) -> None:
    span = utc_span(wall("2027-10-31 01:30"), LONDON, THREE_HOURS, fold)

    assert (span.start, span.fold) == (datetime(2027, 10, 31, hour, 30, tzinfo=UTC), fold)


@pytest.mark.parametrize("time", ["00:59", "02:00"])
def test_the_edges_of_the_repeated_hour_come_once(time: str) -> None:
    assert utc_span(wall(f"2027-10-31 {time}"), LONDON, THREE_HOURS).fold == 0


def test_west_of_greenwich_the_offset_has_a_minus_sign() -> None:
    with pytest.raises(WallTimeRepeated, match="first at UTC−02:30, then again at UTC−03:30"):
        utc_span(wall("2027-11-07 01:30"), "America/St_Johns", THREE_HOURS)


def test_a_fold_means_nothing_for_a_time_that_comes_once() -> None:
    ten = wall("2027-06-12 10:00")

    assert utc_span(ten, LONDON, THREE_HOURS, fold=1) == utc_span(ten, LONDON, THREE_HOURS)


@pytest.mark.parametrize("zone", ["Europe/Lundon", "", "Europe", "../etc/passwd", "/etc/localtime", "BST\0"])
def test_an_unknown_zone_is_refused(zone: str) -> None:
    with pytest.raises(UnknownZone) as refused:
        utc_span(wall("2027-06-12 10:00"), zone, THREE_HOURS)

    assert str(refused.value) == (f"There is no time zone called “{zone}”. Write it as Europe/London or Europe/Dublin.")


@pytest.mark.parametrize("minutes", [0, -1])
def test_a_walk_lasts_some_time(minutes: int) -> None:
    with pytest.raises(ValueError, match="longer than no time"):
        utc_span(wall("2027-06-12 10:00"), LONDON, timedelta(minutes=minutes))


def test_an_aware_start_is_an_error() -> None:
    with pytest.raises(ValueError, match="A wall time is naive"):
        utc_span(datetime(2027, 6, 12, 10, 0, tzinfo=UTC), LONDON, THREE_HOURS)


ZONES = st.sampled_from(["Europe/London", "Europe/Dublin", "Australia/Lord_Howe", "America/St_Johns", "Asia/Kathmandu"])
INSTANTS = st.datetimes(wall("2024-01-01 00:00"), wall("2030-01-01 00:00"), timezones=st.just(UTC))


@given(instant=INSTANTS, zone=ZONES)
def test_every_instant_comes_back_from_what_the_wall_shows(instant: datetime, zone: str) -> None:
    shown = instant.astimezone(ZoneInfo(zone))

    assert utc_span(shown.replace(tzinfo=None, fold=0), zone, THREE_HOURS, shown.fold).start == instant
