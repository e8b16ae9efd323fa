"""What the law gives whoever books, beside the terms of the sale: data, with its sources, by jurisdiction."""

from __future__ import annotations

from dataclasses import dataclass

from bookings.law_files import law_in


@dataclass(frozen=True, slots=True)
class StatutoryNote:
    """One right, or one that there is not, as a participant reads it; `source`: what it rests on, and what was read."""

    says: str
    source: str


@dataclass(frozen=True, slots=True)
class StatutoryNotes:
    """The notes of a jurisdiction, and whom the office asks about them."""

    notes: tuple[StatutoryNote, ...]
    ask: str


NONE = StatutoryNotes((), "a lawyer")


def statutory_notes(jurisdiction: str) -> StatutoryNotes:
    """The notes for `jurisdiction`, a code as "GB-ENG"; empty where we hold none."""
    found = law_in("statutory_notes.toml", jurisdiction)
    if found is None:
        return NONE
    _, law = found
    return StatutoryNotes(tuple(StatutoryNote(**one) for one in law["notes"]), law["ask"])
