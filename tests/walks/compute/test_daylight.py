"""Daylight far from Greenwich, in the far north, and around dusk; the published times are checked elsewhere."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from astral import Observer
from astral.sun import zenith
from hypothesis import given
from hypothesis import strategies as st

from walks.compute.daylight import Daylight, after_dusk, daylight

LONDON = ZoneInfo("Europe/London")
OSLO = ZoneInfo("Europe/Oslo")
WOOD = (51.5, -0.1)


@given(day=st.dates(date(2024, 1, 1), date(2030, 12, 31)))
def test_the_sun_stands_where_the_definitions_say(day: date) -> None:
    light = daylight(*WOOD, day, LONDON)

    for moment, degrees in ((light.sunrise, 90 + 50 / 60), (light.sunset, 90 + 50 / 60), (light.civil_dusk, 96.0)):
        assert moment is not None
        assert zenith(Observer(*WOOD), moment, with_refraction=False) == pytest.approx(degrees, abs=0.02)


@pytest.mark.parametrize(
    ("latitude", "longitude", "zone"),
    [
        (51.5, -0.1, "Europe/London"),
        (1.9, -157.4, "Pacific/Kiritimati"),
        (-16.8, 179.9, "Pacific/Fiji"),
        (-16.8, -179.9, "Pacific/Fiji"),
        (-13.8, -171.8, "Pacific/Pago_Pago"),
        (37.8, -122.4, "America/Los_Angeles"),
    ],
)
@pytest.mark.parametrize("day", [date(2027, 3, 28), date(2027, 6, 21), date(2027, 10, 31), date(2028, 2, 29)])
def test_the_times_belong_to_the_local_day_and_follow_each_other(
    latitude: float, longitude: float, zone: str, day: date
) -> None:
    light = daylight(latitude, longitude, day, ZoneInfo(zone))

    times = [light.civil_dawn, light.sunrise, light.sunset, light.civil_dusk]
    assert [time.date() for time in times if time] == [day] * 4
    assert times == sorted(times, key=lambda time: time or datetime.min.replace(tzinfo=UTC))


def test_a_short_nights_dusk_after_midnight_belongs_to_the_evening_before() -> None:
    light = daylight(60.15, -1.15, date(2027, 6, 21), LONDON)

    assert light.sunset is not None
    assert light.civil_dusk is not None
    assert light.civil_dusk.date() == date(2027, 6, 22)
    assert timedelta(hours=1) < light.civil_dusk - light.sunset < timedelta(hours=2, minutes=30)


def test_a_sunset_just_before_the_suns_midnight_is_found() -> None:
    light = daylight(65.6, 20.0, date(2027, 6, 21), ZoneInfo("Europe/Stockholm"))

    assert light.sunrise is not None
    assert light.sunset is not None
    assert timedelta(hours=23, minutes=10) < light.sunset - light.sunrise < timedelta(hours=24)


def test_the_pole_has_day_and_night() -> None:
    nothing = {"civil_dawn": None, "sunrise": None, "sunset": None, "civil_dusk": None}

    assert daylight(90, 0, date(2027, 6, 21), OSLO) == Daylight(**nothing, polar="day")
    assert daylight(-90, 0, date(2027, 6, 21), OSLO) == Daylight(**nothing, polar="night")


@pytest.mark.parametrize(("seconds", "late"), [(-1, False), (0, False), (1, True)])
def test_after_dusk_is_later_than_civil_dusk(seconds: int, late: bool) -> None:
    light = daylight(*WOOD, date(2027, 10, 30), LONDON)

    assert light.civil_dusk is not None
    assert after_dusk((light.civil_dusk + timedelta(seconds=seconds)).astimezone(UTC), light) is late


def test_where_it_never_gets_dark_no_walk_ends_after_dusk() -> None:
    midnight = datetime(2027, 6, 21, 23, 59, tzinfo=OSLO)

    assert after_dusk(midnight, daylight(69.65, 18.96, date(2027, 6, 21), OSLO)) is False


def test_in_polar_night_the_noon_twilight_ends_with_its_dusk() -> None:
    light = daylight(69.65, 18.96, date(2027, 12, 21), OSLO)

    assert light.polar == "night"
    assert after_dusk(datetime(2027, 12, 21, 12, 0, tzinfo=OSLO), light) is False
    assert after_dusk(datetime(2027, 12, 21, 16, 0, tzinfo=OSLO), light) is True


def test_where_it_never_gets_light_every_walk_ends_after_dusk() -> None:
    light = daylight(80, 18, date(2027, 12, 21), OSLO)

    assert light.civil_dusk is None
    assert after_dusk(datetime(2027, 12, 21, 12, 0, tzinfo=OSLO), light) is True


def test_an_end_without_a_zone_is_an_error() -> None:
    with pytest.raises(ValueError, match="aware time"):
        after_dusk(datetime.fromisoformat("2027-06-21 23:00"), daylight(*WOOD, date(2027, 6, 21), LONDON))


@pytest.mark.parametrize(("latitude", "longitude"), [(90.1, 0), (-90.1, 0), (0, 180.1), (0, -180.1), (float("nan"), 0)])
def test_degrees_that_are_none_are_an_error(latitude: float, longitude: float) -> None:
    with pytest.raises(ValueError, match="is no place: latitude is −90 to 90, longitude −180 to 180 degrees"):
        daylight(latitude, longitude, date(2027, 6, 21), LONDON)


def test_a_day_that_a_place_left_out_has_no_daylight() -> None:
    with pytest.raises(ValueError, match="2011-12-30 has no noon in Pacific/Apia"):
        daylight(-13.8, -171.8, date(2011, 12, 30), ZoneInfo("Pacific/Apia"))
