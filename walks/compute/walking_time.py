"""How long a route takes on foot, by two stated rules, in minutes of moving without a pause.

Naismith 1892 as it is taught now: 5 km an hour and an hour for every 600 m of climbing. Langmuir's corrections for
going down: 10 minutes less for every 300 m on slopes of 5 to 12 degrees, both included, and 10 more on steeper ones.
Tobler 1993 (NCGIA Technical Report 93-1): speed in km/h = 6 exp(-3.5 |slope + 0.05|), slope = rise over run.

Both were made for fit adults on paths. They are no time for a group that looks at things: see `group_minutes`.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

FLAT_KMH = 5.0
CLIMB_MINUTES_PER_M = 60 / 600
DESCENT_MINUTES_PER_M = 10 / 300
GENTLE_DEGREES, STEEP_DEGREES = 5.0, 12.0


@dataclass(frozen=True, slots=True)
class Leg:
    """A stretch of one slope, in metres: `run` along the flat, above 0; `rise` up, below 0 down."""

    run: float
    rise: float


@dataclass(frozen=True, slots=True)
class Margins:
    """What a taught walk needs beyond moving: factors on the time of moving, and minutes of stopping a kilometre."""

    group: float
    children: float
    stop_minutes_per_km: float


def naismith_minutes(legs: Sequence[Leg]) -> float:
    """Naismith's rule with Langmuir's corrections over `legs`."""
    return sum(_naismith_leg(one) for one in legs)


def _naismith_leg(leg: Leg) -> float:
    flat = leg.run / 1000 / FLAT_KMH * 60
    if leg.rise >= 0:
        return flat + leg.rise * CLIMB_MINUTES_PER_M
    degrees = math.degrees(math.atan2(-leg.rise, leg.run))
    if degrees < GENTLE_DEGREES:
        return flat
    correction = -leg.rise * DESCENT_MINUTES_PER_M
    return flat + correction if degrees > STEEP_DEGREES else flat - correction


def tobler_minutes(legs: Sequence[Leg]) -> float:
    """Tobler's hiking function over `legs`, on a path."""
    return sum(leg.run / 1000 / tobler_kmh(leg.rise / leg.run) * 60 for leg in legs)


def tobler_kmh(slope: float) -> float:
    """Speed in km/h on a path of this slope, rise over run (the tangent, not the angle)."""
    return 6 * math.exp(-3.5 * abs(slope + 0.05))


def moving_minutes(legs: Sequence[Leg]) -> float:
    """The longer of the two rules: neither is known to fit the people who come."""
    return max(naismith_minutes(legs), tobler_minutes(legs))


def group_minutes(legs: Sequence[Leg], margins: Margins, *, children: bool) -> int:
    """Whole minutes for a taught group, rounded up: the longer rule times its factors, and the stops."""
    factor = margins.group * (margins.children if children else 1)
    kilometres = sum(leg.run for leg in legs) / 1000
    return math.ceil(moving_minutes(legs) * factor + margins.stop_minutes_per_km * kilometres - 1e-9)
