"""What of a sheet goes on its two pages, and what is left to the page behind its code.

Our rule. Every part is given a number of lines, from the letters in it; what must stand on paper (names, danger words,
emergency steps, what tells a dangerous lookalike apart, caveats) is counted first and never left out. The rest is taken
in the order of its worth while it fits. An estimate: the layout of every account is measured in the tests. It must not
be taken for a promise that a sheet of any length fits.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from curriculum.compute.apart import ApartRow
from curriculum.compute.sheet import LookalikeNote, Row, Sheet

EMERGENCY = 330
LAW = 420
PAIR, MOST_PAIRS = 26.0, 2
DETAILS = 12.0
TABLE = (0.19, 0.22, 0.22, 0.33)
"""Shares of a line that the columns of what tells two apart have."""


@dataclass(frozen=True, slots=True)
class Setting:
    """How a variant is set: letters a full line, lines on two pages less what breaks waste, lines a drawing takes."""

    letters: int
    lines: float
    drawing: float
    large: bool = False


STANDARD = Setting(letters=112, lines=113, drawing=16)
CLOSE = Setting(letters=126, lines=120, drawing=19)
LARGE = Setting(letters=70, lines=67, drawing=9.5, large=True)


@dataclass(frozen=True, slots=True)
class Room:
    """What is printed. `close`: set closer; `kept`: the parts that fit besides those that every sheet has."""

    close: bool
    kept: frozenset[str]
    left_out: tuple[str, ...]

    @property
    def pairs(self) -> frozenset[str]:
        """The dangerous lookalikes that are drawn beside this one."""
        return frozenset(part.removeprefix("pair:") for part in self.kept if part.startswith("pair:"))


ON_PAPER = ("more", "law", "drawing", "notes", "harmless", "parts", "sources", "disputed")
IN_LARGE = ("law", "more", "drawing", "notes", "harmless", "parts", "rest")

ALL_THE_REST = ("law and care", "sources", "all the rest of the account")

Cost = Callable[[Sheet, Setting], float]
WORDS = {
    "drawing": "the drawing",
    "more": "more of what tells dangers apart",
    "notes": "notes on them",
    "law": "law and care",
    "parts": "what is gathered",
    "harmless": "other lookalikes",
    "harmless_rows": "what tells the harmless lookalikes apart",
    "rest": "other characters",
    "sources": "sources",
    "disputed": "where sources disagree",
}


def room(sheet: Sheet, first: Sequence[Row], drawable: Iterable[str], *, large: bool) -> Room:
    """The parts of `sheet` that fit. `first`: the rows to look at first; `drawable`: lookalikes that can be drawn."""
    pairs = [one.taxon for one in sheet.dangers if one.taxon in set(drawable)]
    if large:
        return _fitted(sheet, first, IN_LARGE, LARGE, close=False, never=("sources", "disputed"))
    drawn = [f"pair:{taxon}" for taxon in pairs[:MOST_PAIRS]]
    last = drawn[1:] if drawn else ["details"]
    normal = _fitted(sheet, first, (*ON_PAPER, "rest", *drawn[:1], "harmless_rows", *last), STANDARD, close=False)
    if {*ON_PAPER, "rest", *drawn[:1], "harmless_rows"} <= normal.kept:
        return normal
    return _fitted(sheet, first, (*ON_PAPER, *drawn[:1], "rest", "harmless_rows", *last), CLOSE, close=True)


def _fitted(
    sheet: Sheet,
    first: Sequence[Row],
    order: Iterable[str],
    setting: Setting,
    *,
    close: bool,
    never: Sequence[str] = (),
) -> Room:
    left = setting.lines - _always(sheet, first, setting)
    kept: list[str] = []
    out = [WORDS[part] for part in never]
    for part in order:
        cost = _cost(part, sheet, setting)
        if cost <= left:
            kept.append(part)
            left -= cost
        elif part in WORDS:
            out.append(WORDS[part])
    return Room(close, frozenset(kept), tuple(out) if kept else ALL_THE_REST)


def _cost(part: str, sheet: Sheet, setting: Setting) -> float:
    return PAIR if part.startswith("pair:") else OPTIONAL[part](sheet, setting)


def _always(sheet: Sheet, first: Sequence[Row], setting: Setting) -> float:
    """Head, emergency steps, season, what it does, what to look at first, dangers, caveats, code and version."""
    parts: tuple[Cost, ...] = (_head, _does, _dangers, _caveats)
    looks = sum(lines(f"{row.label}{row.always}{row.young}{row.mature}", setting.letters - 22) for row in first)
    small = 0 if setting.large else _small_print(sheet, setting)
    return (
        (13 if setting.large else 16)
        + small
        + looks
        + sum(part(sheet, setting) for part in parts)
        + lines("x" * EMERGENCY, setting.letters)
    )


def lines(text: str, letters: int) -> float:
    """Lines that `text` takes where a line holds so many letters."""
    return math.ceil(len(text) / letters)


def _head(sheet: Sheet, setting: Setting) -> float:
    beware = "".join(f"{one.word} {one.name} {one.scientific} . " for one in sheet.dangers)
    return lines(beware, setting.letters) + lines(sheet.summary, setting.letters - 14)


def _does(sheet: Sheet, setting: Setting) -> float:
    if not sheet.syndrome:
        return 0
    signs = lines("; ".join(sheet.symptoms), setting.letters - 20) + lines(sheet.toxicology_note, setting.letters)
    return signs + (4 if sheet.word else 1)


def _dangers(sheet: Sheet, setting: Setting) -> float:
    return sum(_danger(one, setting) for one in sheet.dangers)


def _danger(one: LookalikeNote, setting: Setting) -> float:
    told = 1 if setting.large else 1.9 + lines(one.apart.verdict, setting.letters)
    return told + 0.3 + 1.15 * sum(_row(row, setting) for row in one.apart.core)


def _row(row: ApartRow, setting: Setting) -> float:
    """A line of text in large print, else a row of the table of four columns."""
    if setting.large:
        return lines(f"{row.label}here {row.here}there {row.there}({row.settles})", setting.letters)
    cells = zip((row.label, row.here, row.there, row.settles), TABLE, strict=True)
    return 0.1 + max(lines(cell, int(share * setting.letters)) for cell, share in cells)


def _more(sheet: Sheet, setting: Setting) -> float:
    rows = (row for one in sheet.dangers for row in one.apart.rows if row.helps and row not in one.apart.core)
    return 1.15 * sum(_row(row, setting) for row in rows)


def _notes(sheet: Sheet, setting: Setting) -> float:
    return sum(len(one.note) / setting.letters for one in sheet.dangers)


def _caveats(sheet: Sheet, setting: Setting) -> float:
    return 2 + sum(lines(one, setting.letters - 4) for one in sheet.caveats) if sheet.caveats else 0


def _drawing(sheet: Sheet, setting: Setting) -> float:
    return setting.drawing


def _details(sheet: Sheet, setting: Setting) -> float:
    return DETAILS


def _parts(sheet: Sheet, setting: Setting) -> float:
    return 2 + sum(1.4 + lines(use, setting.letters * 2 // 3) for _, use, _ in sheet.parts) if sheet.parts else 0


def _harmless(sheet: Sheet, setting: Setting) -> float:
    told = (f"{one.name}{one.scientific}{one.edibility}{one.note}" for one in sheet.harmless)
    return 2 + sum(0.3 + lines(one, setting.letters) for one in told) if sheet.harmless else 0


def _harmless_rows(sheet: Sheet, setting: Setting) -> float:
    rows = (row for one in sheet.harmless for row in one.apart.rows)
    return sum(len(f"{row.label}: here {row.here}, there {row.there}. ") for row in rows) / setting.letters


def _rest(sheet: Sheet, setting: Setting) -> float:
    """All rows are counted, those to look at first too: the small print saves what that wastes."""
    told = (f"{row.label}{row.always}{row.young}{row.mature}" for row in sheet.rows)
    return 2 + sum(lines(one, setting.letters // 2) for one in told) * 0.55


def _law(sheet: Sheet, setting: Setting) -> float:
    return 0.8 * lines("x" * LAW, setting.letters)


def _sources(sheet: Sheet, setting: Setting) -> float:
    told = sum(len(f"{one.title}{one.publisher}{''.join(one.carries)}") + 8 for one in sheet.sources)
    return 0.7 * told / setting.letters


def _small_print(sheet: Sheet, setting: Setting) -> float:
    """What is from memory or without a source."""
    told = sum(len(text) + 2 for text in (*sheet.memory, *sheet.unsourced))
    return 0.7 * (told + 100) / setting.letters


def _disputed(sheet: Sheet, setting: Setting) -> float:
    return 0.7 * sum(len(text) + 2 for text in sheet.disagreements) / setting.letters


OPTIONAL: dict[str, Cost] = {
    "law": _law,
    "drawing": _drawing,
    "details": _details,
    "more": _more,
    "notes": _notes,
    "harmless": _harmless,
    "harmless_rows": _harmless_rows,
    "parts": _parts,
    "rest": _rest,
    "sources": _sources,
    "disputed": _disputed,
}
