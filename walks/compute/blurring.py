"""Blurring a place: the middle of the grid cell that it lies in, and how far off that may be.

Our rule; no published standard sets the cells. They are `metres` high and wide, counted from the equator and from
Greenwich on a sphere of the Earth's mean radius, 6 371 008.8 m (IUGG; recalled). The uncertainty is half the diagonal
and 1 % more, because the Earth is no sphere: the true place lies within it. It hides a place among those of the cell,
never who was there.
"""

import math
from dataclasses import dataclass

RADIUS_M = 6_371_008.8
A_DEGREE_M = RADIUS_M * math.pi / 180
NO_SPHERE = 1.01


@dataclass(frozen=True, slots=True)
class Blurred:
    """WGS84 degrees to six places, and the radius in metres within which the true place lies."""

    latitude: float
    longitude: float
    uncertainty_m: int


def blurred(latitude: float, longitude: float, metres: int) -> Blurred:
    """The place as told to `metres`, from 10 to 10 000. ValueError outside, or within a degree of a pole."""
    if not 10 <= metres <= 10_000:
        raise ValueError(f"Places are blurred to 10 to 10 000 m, not to {metres}.")
    if not (abs(latitude) <= 89 and abs(longitude) <= 180):
        raise ValueError(f"{latitude}, {longitude} is no place that can be blurred.")
    north = _middle(latitude, metres / A_DEGREE_M)
    east = _middle(longitude, metres / (A_DEGREE_M * math.cos(math.radians(north))))
    return Blurred(round(north, 6), round(east, 6), math.ceil(metres / math.sqrt(2) * NO_SPHERE))


def _middle(degrees: float, cell: float) -> float:
    return (math.floor(degrees / cell) + 0.5) * cell
