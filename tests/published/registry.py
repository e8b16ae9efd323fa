"""The computations that published figures are held against: a name, the words its input has, the unit of its result.

To add one: write a function here or in the room's own list, from keyword arguments as TOML gives them to a plain value,
and give it a name in COMPUTATIONS.
"""

import math
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from functools import cache
from inspect import signature
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from bookings.compute.references import creditor_reference, in_groups
from curriculum.compute.beta import beta_quantile
from curriculum.compute.circular import concentration, mean_direction, resultant_length
from curriculum.compute.exchange.delta_reader import character_types, read_characters
from foraywright.floor.compute.money import decimals
from tests.published.taxonomy import gower_dissimilarities, key_to_table, leaves_of_key
from tests.published.verdicts import eating, onset_covered
from walks.compute.age_bands import RatioPolicy, adults_for_group, is_adult, policy_from_toml
from walks.compute.darwin_core import NAMESPACE, TERMS
from walks.compute.daylight import daylight
from walks.compute.grid_reference import parse_reference, to_irish_grid, to_national_grid
from walks.compute.head_count import PartyAges, Person
from walks.compute.limits import StaffMember
from walks.compute.mgrs import to_mgrs
from walks.compute.projections import IRISH_GRID, NATIONAL_GRID, utm_grid
from walks.compute.ratios import ratio_statement
from walks.compute.risk_library import library_from
from walks.compute.risk_matrix import matrices_from
from walks.compute.walking_time import Leg, naismith_minutes, tobler_kmh
from walks.compute.wall_time import utc_span
from walks.compute.weather_index import heat_index, wind_chill

POLICY_FILE = Path(__file__).parents[2] / "walks" / "policies" / "ratios.toml"
HAZARDS = Path(__file__).parents[2] / "walks" / "hazards"


@dataclass(frozen=True, slots=True)
class Computation:
    """A function that a figure is held against; `unit` is that of its result, "exact" where nothing may differ."""

    compute: Callable[..., Any]
    unit: str

    @property
    def given(self) -> frozenset[str]:
        """The words of its input: the names of the function's arguments."""
        return frozenset(signature(self.compute).parameters)


@cache
def _policy() -> RatioPolicy:
    return policy_from_toml(tomllib.loads(POLICY_FILE.read_text(encoding="utf-8")))


def _darwin_core_terms() -> list[str]:
    return [NAMESPACE + term for term in TERMS]


def _children_per_adult(age: int) -> int | str:
    return "adult" if is_adult(age) else _policy().bands[_policy().band_number(age)].children_per_adult


def _adults_for_children(ages: list[int]) -> int:
    return adults_for_group(_policy(), ages)


def _adults_who_count(staff_ages: list[int], child_age: int) -> int:
    staff = [StaffMember(str(place), "helper", is_adult(age), True) for place, age in enumerate(staff_ages)]
    lines = ratio_statement(_policy(), (), staff, [PartyAges((Person(child_age),))]).lines
    return next(line.allows for line in lines if line.key == "two-adults")


def _daylight(latitude: float, longitude: float, day: date, zone: str) -> Mapping[str, time | str]:
    light = daylight(latitude, longitude, day, ZoneInfo(zone))
    names = ("civil_dawn", "sunrise", "sunset", "civil_dusk")
    times = {name: getattr(light, name) for name in names}
    return {"polar": light.polar or "no"} | {name: at.time() if at else "none" for name, at in times.items()}


def _utc_span(wall: datetime, zone: str, minutes: int, fold: int) -> Mapping[str, datetime]:
    span = utc_span(wall, zone, timedelta(minutes=minutes), fold if fold in (0, 1) else None)
    return {"start": span.start, "end": span.end}


def _wind_chills(celsius: list[float], kmh: float) -> list[int]:
    """Whole numbers as the chart prints them: halves up."""
    return [math.floor(wind_chill(one, kmh) + 0.5) for one in celsius]


def _heat_indices(fahrenheit: float, humidity: list[float]) -> list[int]:
    return [math.floor(heat_index(fahrenheit, one) + 0.5) for one in humidity]


def _naismith_minutes(run: float, rise: float) -> float:
    return naismith_minutes([Leg(run, rise)])


def _tobler_kmh(degrees: float) -> float:
    return tobler_kmh(math.tan(math.radians(degrees)))


def _wgs84_of(typed: str) -> list[float]:
    reference = parse_reference(typed)
    return [reference.latitude, reference.longitude]


def _utm_metres(zone: int, latitude: float, longitude: float) -> list[float]:
    return list(utm_grid(zone, latitude < 0).from_wgs84(latitude, longitude))


def _utm_degrees(zone: int, easting: float, northing: float) -> list[float]:
    return list(utm_grid(zone, south=False).to_wgs84(easting, northing))


def _osgb36_degrees_to_metres(latitude: float, longitude: float) -> list[float]:
    return list(NATIONAL_GRID.from_own_degrees(latitude, longitude))


def _wgs84_to_national_metres(latitude: float, longitude: float) -> list[float]:
    return list(NATIONAL_GRID.from_wgs84(latitude, longitude))


def _tm75_degrees_to_metres(latitude: float, longitude: float) -> list[float]:
    return list(IRISH_GRID.from_own_degrees(latitude, longitude))


def _national_reference(easting: float, northing: float, precision_m: int) -> str:
    return to_national_grid(*NATIONAL_GRID.to_wgs84(easting, northing), precision_m)


def _irish_reference(easting: float, northing: float, precision_m: int) -> str:
    return to_irish_grid(*IRISH_GRID.to_wgs84(easting, northing), precision_m)


def _mgrs_reference(latitude: float, longitude: float, precision_m: int) -> str:
    return to_mgrs(latitude, longitude, precision_m)


def _mil_std_882e_level(probability: str, severity: str) -> str:
    text = (HAZARDS / "matrices.toml").read_text(encoding="utf-8")
    return matrices_from("matrices.toml", tomllib.loads(text))["mil-std-882e"].cell(probability, severity)


def _risk_assessment_steps() -> list[str]:
    files = {path.name: tomllib.loads(path.read_text(encoding="utf-8")) for path in HAZARDS.glob("library/*.toml")}
    return [step.title for step in library_from(files).steps]


def _mean_direction(degrees: list[float]) -> float:
    return math.degrees(mean_direction([math.radians(one) for one in degrees], [1] * len(degrees)))


def _resultant_length(degrees: list[float], weights: list[float]) -> float:
    return resultant_length([math.radians(one) for one in degrees], weights)


def _concentration(radians: list[float]) -> Mapping[str, float]:
    weights = [1.0] * len(radians)
    kappa = concentration(resultant_length(radians, weights))
    return {"mean": mean_direction(radians, weights), "kappa": kappa}


def _critical_f(upper_tail: float, numerator: list[int], denominator: int) -> list[float]:
    """F with m and n degrees of freedom is n·x / (m·(1 - x)), x having the distribution Beta(m/2, n/2)."""
    # The complement's quantile keeps the digits of 1 - x where x is close to 1.
    rest = [beta_quantile(upper_tail, denominator / 2, one / 2) for one in numerator]
    return [denominator * (1 - y) / (one * y) for one, y in zip(numerator, rest, strict=True)]


def _delta_character_types(text: str) -> Mapping[str, str]:
    return {str(number): kind for number, kind in character_types(text).items()}


def _delta_characters(text: str) -> list[list[str]]:
    """The feature of each character, then its states in order, or its unit."""
    told = read_characters(text, {})
    return [[" ".join(part.split()) for part in (one.feature, *(one.states.values() or [one.unit]))] for one in told]


COMPUTATIONS: dict[str, Computation] = {
    "verdict on eating": Computation(eating, "exact"),
    "onset covered": Computation(onset_covered, "exact"),
    "children per adult": Computation(_children_per_adult, "children"),
    "adults for children": Computation(_adults_for_children, "adults"),
    "adults who count": Computation(_adults_who_count, "adults"),
    "daylight": Computation(_daylight, "minutes"),
    "UTC of a wall time": Computation(_utc_span, "minutes"),
    "wind chill, whole": Computation(_wind_chills, "index"),
    "heat index, whole": Computation(_heat_indices, "°F"),
    "walking time by Naismith and Langmuir": Computation(_naismith_minutes, "minutes"),
    "speed by Tobler": Computation(_tobler_kmh, "km/h"),
    "WGS84 of a reference": Computation(_wgs84_of, "degrees"),
    "UTM metres": Computation(_utm_metres, "metres"),
    "WGS84 of UTM metres": Computation(_utm_degrees, "degrees"),
    "OSGB36 degrees to metres": Computation(_osgb36_degrees_to_metres, "metres"),
    "WGS84 to National Grid metres": Computation(_wgs84_to_national_metres, "metres"),
    "TM75 degrees to metres": Computation(_tm75_degrees_to_metres, "metres"),
    "National Grid reference": Computation(_national_reference, "exact"),
    "Irish Grid reference": Computation(_irish_reference, "exact"),
    "MGRS reference": Computation(_mgrs_reference, "exact"),
    "MIL-STD-882E risk level": Computation(_mil_std_882e_level, "exact"),
    "decimals of a currency": Computation(decimals, "exact"),
    "creditor reference": Computation(creditor_reference, "exact"),
    "creditor reference in print": Computation(in_groups, "exact"),
    "Darwin Core terms that we write": Computation(_darwin_core_terms, "exact"),
    "steps of a risk assessment": Computation(_risk_assessment_steps, "exact"),
    "mean direction": Computation(_mean_direction, "degrees"),
    "mean resultant length": Computation(_resultant_length, "shares of 1"),
    "concentration of directions": Computation(_concentration, "of kappa"),
    "critical value of F": Computation(_critical_f, "of F"),
    "DELTA character types": Computation(_delta_character_types, "exact"),
    "DELTA characters": Computation(_delta_characters, "exact"),
    "Gower dissimilarities": Computation(gower_dissimilarities, "shares of 1"),
    "key to a table": Computation(key_to_table, "exact"),
    "leaves of a key": Computation(leaves_of_key, "exact"),
}
