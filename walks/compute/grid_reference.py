"""Places as people write them: grid references and degrees in, WGS84 out, and back to what a map shows.

A grid reference names the south-west corner of a square, and so does the position that it is read into; `precision_m`
says how large the square is. How exact the grids are without a survey's grid file stands in `projections`. Degrees are
taken for WGS84, which is what phones and GPS show; degrees from an old map (OSGB36) read so lie about 100 m off.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from walks.compute.map_squares import (
    ReferenceRefused,
    corner,
    figures,
    irish_letter,
    irish_square,
    national_letters,
    national_square,
    on_irish_grid,
    on_national_grid,
    split_digits,
)
from walks.compute.mgrs import from_mgrs, is_south, to_utm
from walks.compute.projections import IRISH_GRID, NATIONAL_GRID, utm_grid

System = Literal["National Grid", "Irish Grid", "UTM", "MGRS", "decimal degrees", "degrees and minutes"]

NATIONAL_EXAMPLE = "TG 514 131"
METRES_EXAMPLE = "651409, 313177"
IRISH_EXAMPLE = "O 159 346"
UTM_EXAMPLE = "31N 448251 5411932 or 31 south 448251 5411932"
DEGREES_EXAMPLE = "52.65798, 1.71605"
MINUTES_EXAMPLE = "52 39.479 N 1 42.963 E"
PLAIN_MARKS = str.maketrans("−º’\u2032\u2033”", "-°''\"\"")
DEGREE_M = 111_120
"""Metres in a degree of latitude: 60 nautical miles."""


@dataclass(frozen=True, slots=True)
class Reference:
    """One place: what was typed, unchanged, and the WGS84 position in degrees of the south-west corner it names.

    `datum` = of the system typed; `precision_m` = side of the square named, at least 1 m.
    """

    as_typed: str
    system: System
    datum: Literal["OSGB36", "TM75", "WGS84"]
    precision_m: int
    latitude: float
    longitude: float


def parse_reference(typed: str) -> Reference:
    """The place that `typed` names: National Grid (letters, or easting and northing in metres), Irish Grid, UTM, MGRS,
    decimal degrees, degrees with minutes or with minutes and seconds. ReferenceRefused with the reason otherwise."""
    text = _tidied(typed)
    for pattern, read in READERS:
        match = pattern.fullmatch(text)
        if match:
            return read(typed, *match.groups())
    examples = (NATIONAL_EXAMPLE, METRES_EXAMPLE, IRISH_EXAMPLE, DEGREES_EXAMPLE, MINUTES_EXAMPLE)
    raise ReferenceRefused(typed, "is no place that can be read.", " or ".join(examples))


def to_national_grid(latitude: float, longitude: float, precision_m: int = 100) -> str:
    """National Grid reference of a WGS84 position, cut off at 1 to 10,000 m: "TG 514 131". ValueError off the grid."""
    easting, northing = NATIONAL_GRID.from_wgs84(latitude, longitude)
    east, north = corner(easting, precision_m), corner(northing, precision_m)
    if not on_national_grid(east, north):
        raise ValueError(f"{latitude}, {longitude} is not on the National Grid of Great Britain.")
    return f"{national_letters(east, north)} {figures(east, north, precision_m)}"


def to_irish_grid(latitude: float, longitude: float, precision_m: int = 100) -> str:
    """Irish Grid reference of a WGS84 position, cut off at 1 to 10,000 m: "O 159 346". ValueError off the grid."""
    easting, northing = IRISH_GRID.from_wgs84(latitude, longitude)
    east, north = corner(easting, precision_m), corner(northing, precision_m)
    if not on_irish_grid(east, north):
        raise ValueError(f"{latitude}, {longitude} is not on the Irish Grid.")
    return f"{irish_letter(east, north)} {figures(east, north, precision_m)}"


def to_utm_reference(latitude: float, longitude: float) -> str:
    """UTM zone, easting and northing in whole metres, cut off: "31N 448251 5411932", in the south "56 south …"."""
    zone, easting, northing = to_utm(latitude, longitude)
    return f"{zone}{' south' if is_south(latitude) else 'N'} {corner(easting, 1)} {corner(northing, 1)}"


def _tidied(typed: str) -> str:
    """Upper case, one kind of space, plain marks for degrees, minutes and seconds, hemisphere letters behind."""
    text = re.sub(r"\s+", " ", typed.upper().translate(PLAIN_MARKS)).strip()
    return re.sub(r"^([NS]) ?([^A-Z]*?[0-9°'\"]),? ?([EW]) ?([^A-Z]*)$", r"\2 \1 \4 \3", text)


def _national(typed: str, letters: str, digits: str) -> Reference:
    square = national_square(letters)
    if square is None:
        raise ReferenceRefused(
            typed, f"begins with {letters}, which is no square of the National Grid.", NATIONAL_EXAMPLE
        )
    east, north, size = split_digits(typed, digits, NATIONAL_EXAMPLE)
    position = NATIONAL_GRID.to_wgs84(square[0] + east, square[1] + north)
    return Reference(typed, "National Grid", "OSGB36", size, *position)


def _national_metres(typed: str, easting: str, northing: str) -> Reference:
    if not on_national_grid(float(easting), float(northing)):
        raise ReferenceRefused(
            typed, "is outside the National Grid: eastings end at 700000, northings at 1300000 metres.", METRES_EXAMPLE
        )
    return Reference(typed, "National Grid", "OSGB36", 1, *NATIONAL_GRID.to_wgs84(float(easting), float(northing)))


def _irish(typed: str, letter: str, digits: str) -> Reference:
    square = irish_square(letter)
    if square is None:
        raise ReferenceRefused(typed, f"begins with {letter}, which is no square of the Irish Grid.", IRISH_EXAMPLE)
    east, north, size = split_digits(typed, digits, IRISH_EXAMPLE)
    return Reference(typed, "Irish Grid", "TM75", size, *IRISH_GRID.to_wgs84(square[0] + east, square[1] + north))


def _utm(typed: str, zone: str, half: str, easting: str, northing: str) -> Reference:
    if half == "S":
        raise ReferenceRefused(typed, "does not say whether S is the south or the band S in the north.", UTM_EXAMPLE)
    if not 1 <= int(zone) <= 60:
        raise ReferenceRefused(typed, f"has zone {zone}; zones are 1 to 60.", UTM_EXAMPLE)
    if not (100_000 <= float(easting) < 1_000_000 and float(northing) <= 10_000_000):
        raise ReferenceRefused(typed, "has an easting or a northing that no UTM zone reaches.", UTM_EXAMPLE)
    grid = utm_grid(int(zone), half == "SOUTH")
    return Reference(typed, "UTM", "WGS84", 1, *grid.to_wgs84(float(easting), float(northing)))


def _mgrs(typed: str, zone: str, band: str, square: str, digits: str) -> Reference:
    latitude, longitude, size = from_mgrs(typed, int(zone), band, square, digits)
    return Reference(typed, "MGRS", "WGS84", size, latitude, longitude)


def _plain_degrees(typed: str, latitude: str, longitude: str) -> Reference:
    return _position(typed, "decimal degrees", (float(latitude), float(longitude)), _step(latitude), DEGREES_EXAMPLE)


def _lettered_degrees(typed: str, latitude: str, north: str, longitude: str, east: str) -> Reference:
    parts = _angle_parts(typed, latitude), _angle_parts(typed, longitude)
    if len(parts[0]) != len(parts[1]):
        raise ReferenceRefused(typed, "gives latitude and longitude in two different forms.", MINUTES_EXAMPLE)
    signs = (-1 if north == "S" else 1), (-1 if east == "W" else 1)
    degrees = signs[0] * _degrees(parts[0]), signs[1] * _degrees(parts[1])
    if len(parts[0]) == 1:
        return _position(typed, "decimal degrees", degrees, _step(parts[0][0]), DEGREES_EXAMPLE)
    step = _step(parts[0][-1]) / 60 ** (len(parts[0]) - 1)
    return _position(typed, "degrees and minutes", degrees, step, MINUTES_EXAMPLE)


def _angle_parts(typed: str, angle: str) -> list[str]:
    """Degrees, minutes and seconds as written: only the last may have decimals; minutes and seconds stay below 60."""
    parts = re.sub("[°'\",]", " ", angle).split()
    if not 1 <= len(parts) <= 3 or any("." in part for part in parts[:-1]):
        raise ReferenceRefused(typed, "is no angle in degrees, minutes and seconds.", MINUTES_EXAMPLE)
    if any(float(part) >= 60 for part in parts[1:]):
        raise ReferenceRefused(typed, "has minutes or seconds of 60 or more.", MINUTES_EXAMPLE)
    return parts


def _degrees(parts: list[str]) -> float:
    return sum(float(part) / 60.0**place for place, part in enumerate(parts))


def _step(number: str) -> float:
    """The value of one in the last decimal place of a number as it is written."""
    return 10.0 ** -len(number.partition(".")[2])


def _position(typed: str, system: System, degrees: tuple[float, float], step: float, example: str) -> Reference:
    latitude, longitude = degrees
    if abs(latitude) > 90:
        raise ReferenceRefused(typed, "has a latitude beyond 90 degrees; the latitude comes first.", example)
    if abs(longitude) > 180:
        raise ReferenceRefused(typed, "has a longitude beyond 180 degrees.", example)
    if step >= 0.1:
        raise ReferenceRefused(typed, "is too coarse to meet at: write at least two decimals of a degree.", example)
    return Reference(typed, system, "WGS84", max(1, round(step * DEGREE_M)), latitude, longitude)


NUMBER = r"(\d+(?:\.\d+)?)"
READERS: tuple[tuple[re.Pattern[str], Callable[..., Reference]], ...] = (
    (re.compile(r"([A-Z]{2}) ?([\d ]*)"), _national),
    (re.compile(r"([A-Z]) ?([\d ]+)"), _irish),
    (re.compile(r"(\d{1,2}) ?([A-Z]) ?([A-Z]{2}) ?([\d ]*)"), _mgrs),
    (re.compile(rf"(?:UTM )?(?:ZONE )?(\d{{1,2}}) ?([NS]|NORTH|SOUTH),? {NUMBER} ?M?E?,? {NUMBER} ?M?N?"), _utm),
    (re.compile(r"E? ?(\d{4,7}(?:\.\d+)?)(?: ?, ?| )N? ?(\d{4,7}(?:\.\d+)?)"), _national_metres),
    (re.compile(r"([+-]?\d{1,3}(?:\.\d+)?)°?(?: ?, ?| )([+-]?\d{1,3}(?:\.\d+)?)°?"), _plain_degrees),
    (re.compile(r"(\d[\d.°'\" ]*)([NS])[, ]*(\d[\d.°'\" ]*)([EW])"), _lettered_degrees),
)
