"""Wind chill and heat index: how cold or hot air feels to somebody in it. They rank weather; they diagnose nobody.

Wind chill (2001 index of Environment Canada and the US National Weather Service), T in °C, V in km/h at 10 m:
    13.12 + 0.6215 T − 11.37 V^0.16 + 0.3965 T V^0.16       from 5 km/h
    T + (−1.59 + 0.1345 T) V / 5                            below 5 km/h (from memory)
It holds for T up to 10 °C; in warmer air the temperature itself is returned.

Heat index: the regression of L. P. Rothfusz (NWS Technical Attachment SR 90-23, 1990) with the adjustments of the
National Weather Service, as printed by its Weather Prediction Center ("The heat index equation"); °F and per cent.
It describes shade and a light wind: full sun can add up to 15 °F (from memory).
"""

from __future__ import annotations

from math import pow, sqrt

CALM = 5.0
WARMEST_WIND_CHILL = 10.0
REGRESSION_FROM = 80.0


def wind_chill(celsius: float, kmh: float) -> float:
    """The wind chill index (a number like °C, given without a unit) at an air temperature and a mean wind in km/h."""
    if celsius > WARMEST_WIND_CHILL:
        return celsius
    if kmh < CALM:
        return celsius + (-1.59 + 0.1345 * celsius) * kmh / 5
    power = pow(kmh, 0.16)
    return 13.12 + 0.6215 * celsius - 11.37 * power + 0.3965 * celsius * power


def heat_index(fahrenheit: float, humidity: float) -> float:
    """The heat index in °F at an air temperature in °F and a relative humidity from 0 to 100 per cent.

    The simple formula averaged with the temperature, and from 80 °F on the regression with its adjustments.
    """
    simple = (0.5 * (fahrenheit + 61.0 + (fahrenheit - 68.0) * 1.2 + humidity * 0.094) + fahrenheit) / 2
    if simple < REGRESSION_FROM:
        return simple
    return _regression(fahrenheit, humidity) + _adjustment(fahrenheit, humidity)


def _regression(t: float, r: float) -> float:
    linear = -42.379 + 2.04901523 * t + 10.14333127 * r - 0.22475541 * t * r
    squares = -0.00683783 * t * t - 0.05481717 * r * r
    return linear + squares + 0.00122874 * t * t * r + 0.00085282 * t * r * r - 0.00000199 * t * t * r * r


def _adjustment(t: float, r: float) -> float:
    if r < 13 and 80 <= t <= 112:
        return -((13 - r) / 4) * sqrt((17 - abs(t - 95)) / 17)
    return ((r - 85) / 10) * ((87 - t) / 5) if r > 85 and 80 <= t <= 87 else 0.0


def to_fahrenheit(celsius: float) -> float:
    """°C as °F."""
    return celsius * 9 / 5 + 32


def to_celsius(fahrenheit: float) -> float:
    """°F as °C."""
    return (fahrenheit - 32) * 5 / 9
