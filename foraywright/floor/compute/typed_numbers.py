"""Whole numbers as they come from outside."""

from __future__ import annotations

LONGEST = 9
"""Digits that every integer column holds. Python itself refuses to read more than 4,300 digits, by a fault."""


def whole_number(typed: str) -> int | None:
    """The number that `typed` writes in decimal digits; None where it is none, or a longer one than columns hold."""
    return int(typed) if typed.isdecimal() and len(typed) <= LONGEST else None
