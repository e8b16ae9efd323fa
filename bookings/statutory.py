"""What the law gives whoever books, beside the terms of the sale: data, with its sources, by jurisdiction."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from bookings.law_files import law_in


@dataclass(frozen=True, slots=True)
class StatutoryNote:
    """One right, or one that there is not, as a participant reads it; `source`: what it rests on, and what was read."""

    says: str
    source: str


@dataclass(frozen=True, slots=True)
class StatutoryNotes:
    """The notes of a jurisdiction, those for vouchers, schools and clubs apart, and whom the office asks about them."""

    notes: tuple[StatutoryNote, ...]
    voucher_notes: tuple[StatutoryNote, ...]
    group_notes: tuple[StatutoryNote, ...]
    ask: str

    def for_buyer(self, *, group: bool) -> tuple[StatutoryNote, ...]:
        """What whoever books reads; a `group` may be no consumer."""
        return self.group_notes if group else self.notes


NONE = StatutoryNotes((), (), (), "a lawyer")


def statutory_notes(jurisdiction: str) -> StatutoryNotes:
    """The notes for `jurisdiction`, a code as "GB-ENG"; empty where we hold none."""
    found = law_in("statutory_notes.toml", jurisdiction)
    if found is None:
        return NONE
    _, law = found
    return StatutoryNotes(_read(law["notes"]), _read(law["voucher_notes"]), _read(law["group_notes"]), law["ask"])


def _read(notes: Sequence[Mapping[str, str]]) -> tuple[StatutoryNote, ...]:
    return tuple(StatutoryNote(**one) for one in notes)
