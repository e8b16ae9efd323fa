"""What joining instructions say beside the facts of the walk. Common practice, no source."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from foraywright.floor.compute.clock_words import clock, day_words
from walks.compute.weather import NEVER_OLDER


@dataclass(frozen=True, slots=True)
class Outing:
    """What decides on clothes and bags. `month`: 1 to 12 at the site."""

    month: int
    minutes: int
    in_the_dark: bool
    on_the_shore: bool
    has_children: bool


def what_to_bring(outing: Outing) -> Iterator[str]:
    """The list, the most needed first."""
    yield "Stout shoes or boots that may get wet and muddy"
    if outing.on_the_shore:
        yield "Wellingtons or shoes for wet rock, and dry socks"
    yield "Clothes for the weather, with waterproofs, and long trousers against ticks and thorns"
    if outing.month in (10, 11, 12, 1, 2, 3, 4):
        yield "Hat, gloves and one layer more than you think: we stand still a good deal"
    if outing.month in (5, 6, 7, 8, 9):
        yield "Something against sun and insects"
    yield "Your own medicines, with any adrenaline pen or inhaler, on you and not in the car"
    yield "Water, and something to eat" if outing.minutes >= 180 else "Something to drink"
    if outing.in_the_dark:
        yield "A torch with fresh batteries, a head torch if you have one"
    if outing.has_children:
        yield "Spare clothes for the children"
    yield "A charged telephone"


@dataclass(frozen=True, slots=True)
class Forecast:
    """The newest forecast that staff recorded. Degrees Celsius, km/h, an aware instant in the site's zone."""

    celsius: float
    wind_kmh: float
    source: str
    issued_at: datetime


def weather_note(forecast: Forecast | None, *, now: datetime) -> str:
    """What is known of the weather, and what is done about it. A forecast too old to decide on is not repeated."""
    ours = "We look at the forecast again before we start. If we call the walk off, we write to you at once."
    if forecast is None or now - forecast.issued_at > NEVER_OLDER:
        return f"Please look at the forecast on the day before, and dress for it. {ours}"
    said = f"{forecast.celsius:.0f} °C, wind {forecast.wind_kmh:.0f} km/h"
    issued = f"{day_words(forecast.issued_at)}, {clock(forecast.issued_at)}"
    return f"Forecast: {said} ({forecast.source}, issued {issued}). {ours}"
