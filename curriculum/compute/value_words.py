"""Values as people say them: sizes with their unit, states by their labels."""

from __future__ import annotations

from curriculum.compute.account import Interval, Value
from curriculum.compute.vocabulary import Character


def measure(low: float, high: float) -> str:
    """A range of millimetres as people say it: "4 to 20 cm", "2 to 8 mm"; one figure where both ends agree."""
    unit, scale = ("m", 1000) if low >= 1000 else ("cm", 10) if high >= 30 else ("mm", 1)
    ends = [f"{value / scale:.2f}".rstrip("0").rstrip(".") for value in (low, high)]
    return f"{ends[0]} {unit}" if ends[0] == ends[1] else f"{ends[0]} to {ends[1]} {unit}"


def words(value: Value, character: Character) -> str:
    """A value in words; empty where it is unknown or inapplicable."""
    if isinstance(value, Interval):
        return measure(value.low, value.high)
    if isinstance(value, frozenset):
        return ", ".join(state.label for key, state in character.states.items() if key in value)
    return ""
