"""What became different between two states of a walk, in words that the people who booked can read.

Our rule: another day, start, length or place is material, and a material change by us opens a free exit. The calendar's
SEQUENCE rises with these too (RFC 5545, 3.8.7.4: a significant revision); everything else is only modified.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

LABELS = {
    "day": "Day",
    "start": "Start",
    "length": "Length",
    "place": "Place",
    "guides": "Guides",
    "low_water": "Low water",
    "in_the_dark": "In the dark",
    "covers": "What it covers",
}
MATERIAL = frozenset({"day", "start", "length", "place"})


@dataclass(frozen=True, slots=True)
class Difference:
    """One field that became different: its key of LABELS, and its words before and after ("" for none)."""

    field: str
    before: str
    after: str

    @property
    def label(self) -> str:
        """What the field is called."""
        return LABELS[self.field]


def differences(before: Mapping[str, str], after: Mapping[str, str]) -> list[Difference]:
    """The fields of LABELS whose words differ, in the order of LABELS. Both must hold every field (else KeyError)."""
    return [Difference(one, before[one], after[one]) for one in LABELS if before[one] != after[one]]


def is_material(found: Sequence[Difference]) -> bool:
    """Whether the people who booked may leave free of charge."""
    return any(one.field in MATERIAL for one in found)
