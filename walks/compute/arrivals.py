"""Dogs and cars of a walk: limits of their own, which bind what a party brings and never the people."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

Kind = Literal["cars", "dogs"]


@dataclass(frozen=True, slots=True)
class Brought:
    """How many cars and dogs come with one party or with several. Assistance dogs are never among them."""

    cars: int = 0
    dogs: int = 0

    def __add__(self, other: Brought) -> Brought:
        return Brought(self.cars + other.cars, self.dogs + other.dogs)


NOTHING = Brought()


@dataclass(frozen=True, slots=True)
class ArrivalRule:
    """What may come to one walk. `car_spaces`: None where nobody counts them. `most_dogs`: 0 for none."""

    most_dogs: int = 0
    car_spaces: int | None = None

    @property
    def asks(self) -> bool:
        """Whether a party has to say what it brings."""
        return self.most_dogs > 0 or self.car_spaces is not None


@dataclass(frozen=True, slots=True)
class ArrivalLine:
    """One limit in cars or in dogs, with how many of them are announced."""

    kind: Kind
    allows: int
    used: int

    @property
    def left(self) -> int:
        """How many more may come; negative where the limit is broken."""
        return self.allows - self.used

    @property
    def kept(self) -> bool:
        return self.left >= 0

    @property
    def label(self) -> str:
        return "Car spaces" if self.kind == "cars" else "Dogs"

    @property
    def sentence(self) -> str:
        """The limit and how it stands, in words."""
        allowed = _number(self.allows, self.kind)
        room = f"There is room for {allowed}" if self.kind == "cars" else f"At most {allowed} may come, on a lead"
        return f"{room}; {self.used or 'none'} {'is' if self.used == 1 else 'are'} announced; {_left(self.left)}."


def arrival_lines(rule: ArrivalRule, coming: Brought) -> tuple[ArrivalLine, ...]:
    """The limits of `rule` with what is announced. Dogs that nobody may bring are a line only where some are."""
    return tuple(_lines(rule, coming))


def _lines(rule: ArrivalRule, coming: Brought) -> Iterator[ArrivalLine]:
    if rule.car_spaces is not None:
        yield ArrivalLine("cars", rule.car_spaces, coming.cars)
    if rule.most_dogs or coming.dogs:
        yield ArrivalLine("dogs", rule.most_dogs, coming.dogs)


def against_arrival(rule: ArrivalRule, coming: Brought, brings: Brought) -> tuple[str, ...]:
    """Why a party cannot bring `brings` beside what is announced; none: it may. Bringing nothing always fits."""
    return tuple(_reasons(rule, coming, brings))


def _reasons(rule: ArrivalRule, coming: Brought, brings: Brought) -> Iterator[str]:
    if brings.dogs and not rule.most_dogs:
        yield "Dogs stay at home on this walk."
    elif brings.dogs and coming.dogs + brings.dogs > rule.most_dogs:
        yield ArrivalLine("dogs", rule.most_dogs, coming.dogs).sentence
    if rule.car_spaces is not None and brings.cars and coming.cars + brings.cars > rule.car_spaces:
        yield ArrivalLine("cars", rule.car_spaces, coming.cars).sentence


def _number(number: int, kind: Kind) -> str:
    return f"{number or 'no'} {kind[:-1] if number == 1 else kind}"


def _left(left: int) -> str:
    return f"that is {-left} too many" if left < 0 else f"{left or 'none'} left"
