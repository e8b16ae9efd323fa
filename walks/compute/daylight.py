"""Sunrise, sunset and civil twilight of a day at a place.

Definitions (United States Naval Observatory, "Rise, Set, and Twilight Definitions"): at sunrise and sunset the centre
of the Sun stands 90 degrees 50 minutes of arc from the zenith, that is 34 minutes of refraction and 16 of radius below
a level horizon; civil twilight begins and ends at 96 degrees. The Sun's place is computed by the library astral (the
NOAA solar equations).

Good to about two minutes between 65° south and 65° north, worse where the Sun skims the horizon. It knows no hill, no
wood and no cloud: under trees it is dark well before the end of civil twilight.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, tzinfo
from typing import Literal

from astral import Observer, SunDirection
from astral.sun import noon, time_of_transit, zenith

HORIZON_ZENITH = 90 + 50 / 60
"""Degrees from the zenith to the Sun's centre at sunrise and sunset."""

CIVIL_ZENITH = 96.0
"""Degrees from the zenith to the Sun's centre where civil twilight begins and ends."""

ONE_DAY = timedelta(days=1)
HALF_A_DAY = timedelta(hours=12, minutes=30)  # the Sun's half day, with room for the equation of time


@dataclass(frozen=True, slots=True)
class Daylight:
    """Aware local times around the noon of one day; the dusk of a short night may fall after midnight.

    None = the Sun does not cross that height on that day. `polar` = "day" or "night" where it neither rises nor sets.
    """

    civil_dawn: datetime | None
    sunrise: datetime | None
    sunset: datetime | None
    civil_dusk: datetime | None
    polar: Literal["day", "night"] | None


def daylight(latitude: float, longitude: float, day: date, zone: tzinfo) -> Daylight:
    """Daylight at WGS84 `latitude` and `longitude` (degrees, north and east positive) for the local `day` of `zone`.

    Times carry seconds, but mean no more than ±2 minutes. ValueError for degrees that are none.
    """
    if not (-90 <= latitude <= 90 and -180 <= longitude <= 180):
        raise ValueError(f"{latitude}, {longitude} is no place: latitude is −90 to 90, longitude −180 to 180 degrees.")
    place = Observer(latitude, longitude, 0.0)
    midday = _noon(place, day, zone)
    sunrise = _before(midday, _crossings(place, midday, HORIZON_ZENITH, SunDirection.RISING))
    sunset = _after(midday, _crossings(place, midday, HORIZON_ZENITH, SunDirection.SETTING))
    return Daylight(
        civil_dawn=_local(_before(midday, _crossings(place, midday, CIVIL_ZENITH, SunDirection.RISING)), zone),
        sunrise=_local(sunrise, zone),
        sunset=_local(sunset, zone),
        civil_dusk=_local(_after(midday, _crossings(place, midday, CIVIL_ZENITH, SunDirection.SETTING)), zone),
        polar=None if sunrise or sunset else _polar(place, midday),
    )


def after_dusk(end: datetime, light: Daylight) -> bool:
    """True if a walk of that day ends (aware `end`) later than civil dusk, or if it never gets light that day.

    Where civil twilight lasts all night it is never after dusk. Not to be taken for "light enough": see the module.
    """
    if end.tzinfo is None:
        raise ValueError("The end of a walk is an aware time.")
    if light.civil_dusk is None:
        return light.polar == "night"
    return end > light.civil_dusk


def _noon(place: Observer, day: date, zone: tzinfo) -> datetime:
    """The Sun's noon that falls on the local day: far from Greenwich that is another date in UTC."""
    candidates = (noon(place, day + shift * ONE_DAY, tzinfo=UTC) for shift in (-1, 0, 1))
    for candidate in candidates:
        if candidate.astimezone(zone).date() == day:
            return candidate
    raise ValueError(f"{day.isoformat()} has no noon in {zone}: that day was left out there.")


def _crossings(place: Observer, midday: datetime, angle: float, direction: SunDirection) -> Iterable[datetime]:
    for shift in (-1, 0, 1):
        try:
            yield time_of_transit(place, midday.date() + shift * ONE_DAY, angle, direction, with_refraction=False)
        except ValueError:
            continue  # astral's word for "the Sun does not reach that height"


def _before(midday: datetime, crossings: Iterable[datetime]) -> datetime | None:
    return max((time for time in crossings if timedelta(0) < midday - time <= HALF_A_DAY), default=None)


def _after(midday: datetime, crossings: Iterable[datetime]) -> datetime | None:
    return min((time for time in crossings if timedelta(0) < time - midday <= HALF_A_DAY), default=None)


def _local(time: datetime | None, zone: tzinfo) -> datetime | None:
    return None if time is None else time.astimezone(zone)


def _polar(place: Observer, midday: datetime) -> Literal["day", "night"]:
    return "day" if zenith(place, midday, with_refraction=False) < HORIZON_ZENITH else "night"
