"""The geometry of a daylight bar: one day from midnight to midnight, night, twilight, daylight and the walk upon it.

Places are per cent of the bar's width. Labels keep their size while the bar shrinks, so room is reckoned for the
narrowest bar that we draw; on a wider one there is only more air. The bar shows what it is given: it computes no sun.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from itertools import combinations, product
from typing import Literal, Protocol

from foraywright.floor.compute.clock_words import clock_span, short_clock, short_span

DAY = 24 * 60
NARROWEST = 284.0
"""Pixels of a bar on a screen 320 wide, less its margins."""

CHARACTER = 6.2
"""Pixels of an average character of a label at 15 pixels: 5.3 to 5.9 were measured, and a twentieth is kept in hand."""

GAP = 2.0
DROPPED = 100
"""The price of a label left out, against 1 for one that is not centred on its mark."""

Polar = Literal["day", "night"]
Anchor = Literal["middle", "end", "start"]
ANCHORS: tuple[Anchor, ...] = ("middle", "end", "start")


class Light(Protocol):
    """The light of one day in local times; None = the Sun does not cross that height."""

    @property
    def civil_dawn(self) -> datetime | None: ...
    @property
    def sunrise(self) -> datetime | None: ...
    @property
    def sunset(self) -> datetime | None: ...
    @property
    def civil_dusk(self) -> datetime | None: ...
    @property
    def polar(self) -> Polar | None: ...


@dataclass(frozen=True, slots=True)
class Stretch:
    """A part of the bar, in per cent."""

    left: float
    width: float


@dataclass(frozen=True, slots=True)
class Label:
    """Words at their `mark` (per cent), above the bar or beneath it: centred there, ending there or starting there.

    Since the mark itself never moves, labels that keep apart on the narrowest bar keep apart on every wider one.
    """

    text: str
    mark: float
    above: bool
    anchor: Anchor = "middle"

    @property
    def left(self) -> float:
        return self.mark - {"start": 0.0, "middle": 0.5, "end": 1.0}[self.anchor] * self.width

    @property
    def right(self) -> float:
        return self.left + self.width

    @property
    def width(self) -> float:
        return len(self.text) * CHARACTER / NARROWEST * 100

    def inside(self) -> bool:
        return self.left >= 0 and self.right <= 100

    def meets(self, other: "Label") -> bool:
        return self.above == other.above and self.left < other.right + GAP and other.left < self.right + GAP


@dataclass(frozen=True, slots=True)
class DaylightBar:
    """What the template draws; `words` says all of it in a sentence."""

    twilight: Stretch | None
    day: Stretch | None
    walk: Stretch
    labels: list[Label]
    words: str


def daylight_bar(light: Light, start: datetime, end: datetime) -> DaylightBar:
    """Lay out the day on which the walk starts. All times local, in one zone; what lies beyond midnight is cut off."""
    day = start.date()
    return DaylightBar(
        twilight=_stretch(light.civil_dawn, light.civil_dusk, day, never_crossed=light.polar != "night"),
        day=_stretch(light.sunrise, light.sunset, day, never_crossed=light.polar == "day"),
        walk=_between(_minute(start, day), _minute(end, day)),
        labels=placed(list(_wanted(light, start, end))),
        words=in_words(light, start, end),
    )


def placed(wanted: Sequence[Label]) -> list[Label]:
    """Return the labels with room for each: none touches another or leaves the bar, as few as can be are left out."""
    choices = product(*[(*_anchored(label), None) for label in wanted])
    best = min((choice for choice in choices if _clear(choice)), key=_price)
    return [label for label in best if label]


def in_words(light: Light, start: datetime, end: datetime) -> str:
    """Return "Daylight: sunrise 7.38, walk 10 am to 1 pm, sunset 16.02, dark from 16.40"."""
    if light.polar:
        sun = "the sun does not set" if light.polar == "day" else "the sun does not rise"
        return f"Daylight: {sun}, walk {clock_span(start, end)}"
    rise = [f"sunrise {short_clock(light.sunrise)}"] if light.sunrise else []
    fall = [f"sunset {short_clock(light.sunset)}"] if light.sunset else []
    dark = [f"dark from {short_clock(light.civil_dusk)}"] if light.civil_dusk else ["twilight all night"]
    return "Daylight: " + ", ".join([*rise, f"walk {clock_span(start, end)}", *fall, *dark])


def _wanted(light: Light, start: datetime, end: datetime) -> Iterator[Label]:
    """Labels at their marks, in the order of their claim to room."""
    day = start.date()
    walk = _between(_minute(start, day), _minute(end, day))
    yield Label(f"walk {short_span(start, end)}", walk.left + walk.width / 2, above=False)
    if light.polar:
        yield Label("the sun does not set" if light.polar == "day" else "the sun does not rise", 50.0, above=True)
    if light.sunrise:
        yield Label(f"sunrise {short_clock(light.sunrise)}", _share(_minute(light.sunrise, day)), above=True)
    if light.sunset:
        yield Label(f"sunset {short_clock(light.sunset)}", _share(_minute(light.sunset, day)), above=True)
    if light.civil_dusk:
        yield Label(f"dark {short_clock(light.civil_dusk)}", _share(_minute(light.civil_dusk, day)), above=False)


def _anchored(label: Label) -> list[Label]:
    return [turned for anchor in ANCHORS if (turned := replace(label, anchor=anchor)).inside()]


def _clear(choice: Sequence[Label | None]) -> bool:
    kept = [label for label in choice if label]
    return not any(one.meets(other) for one, other in combinations(kept, 2))


def _price(choice: Sequence[Label | None]) -> int:
    """A label left out costs more the earlier it was asked for."""
    weights = range(len(choice), 0, -1)
    return sum(
        DROPPED * weight if label is None else label.anchor != "middle"
        for weight, label in zip(weights, choice, strict=True)
    )


def _minute(moment: datetime, day: date) -> int:
    """Wall minutes since the midnight that begins `day`, cut to that day."""
    days = (moment.date() - day).days
    return min(max(days * DAY + moment.hour * 60 + moment.minute, 0), DAY)


def _share(minute: int) -> float:
    return round(minute / DAY * 100, 2)


def _between(first: int, last: int) -> Stretch:
    return Stretch(_share(first), round(_share(max(last, first)) - _share(first), 2))


def _stretch(first: datetime | None, last: datetime | None, day: date, *, never_crossed: bool) -> Stretch | None:
    """Between two crossings. With neither, the whole day or none of it; with one, the other lies outside the day."""
    if first is None and last is None:
        return Stretch(0.0, 100.0) if never_crossed else None
    return _between(_minute(first, day) if first else 0, _minute(last, day) if last else DAY)
