"""What the law gives whoever books, beside the terms of the sale: data, with its sources, by jurisdiction."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path

FILE = Path(__file__).parent / "policies" / "statutory_notes.toml"


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
    return _all().get(jurisdiction, NONE)


@cache
def _all() -> dict[str, StatutoryNotes]:
    found: dict[str, StatutoryNotes] = {}
    for law in tomllib.loads(FILE.read_text(encoding="utf-8")).values():
        notes = StatutoryNotes(tuple(StatutoryNote(**one) for one in law["notes"]), law["ask"])
        found |= dict.fromkeys(law["jurisdictions"], notes)
    return found
