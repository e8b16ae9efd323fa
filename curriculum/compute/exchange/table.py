"""The character table as CSV, for a spreadsheet.

Format: RFC 4180 (lines end in CR LF; cells with a comma, a quote or a line end are quoted, quotes doubled). A cell
that a spreadsheet would run as a formula (it begins with = + - @ or a control character) gets an apostrophe in front:
OWASP Application Security Verification Standard 5.0, requirement 1.2.10. A range is written "30 to 120", because "3-12"
would become a date.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable
from io import StringIO

from curriculum.compute.account import ALL, INAPPLICABLE, STAGES, UNKNOWN, Account, Interval, Value
from curriculum.compute.vocabulary import Character, Vocabulary

RUN_AS_FORMULA = ("=", "+", "-", "@")
FIRST = ("taxon", "accepted name", "common name", "role", "edibility", "months", "months at best", "stage")


def character_table(accounts: Iterable[Account], group: str, vocabulary: Vocabulary) -> str:
    """One row a taxon and stage, one column a character of the group, with its unit."""
    characters = tuple(vocabulary.characters_of(group).values())
    heads = [f"{one.label} ({one.unit})" if one.unit else one.label for one in characters]
    rows = [row for one in accounts if one.group == group for row in _rows(one, characters)]
    return csv_text([[*FIRST, *heads], *rows])


def csv_text(rows: Iterable[Iterable[str]]) -> str:
    """The rows as CSV whose cells no spreadsheet runs."""
    out = StringIO(newline="")
    csv.writer(out, lineterminator="\r\n").writerows([harmless(cell) for cell in row] for row in rows)
    return out.getvalue()


def harmless(cell: str) -> str:
    """The cell, with an apostrophe in front where a spreadsheet would take it for a formula."""
    first = cell.lstrip(" ")[:1]
    runs = first in RUN_AS_FORMULA if first else False
    return f"'{cell}" if runs or (first and first < " ") else cell


def _rows(account: Account, characters: Iterable[Character]) -> Iterable[list[str]]:
    season = account.season
    first = [account.taxon, account.accepted_name, account.vernacular(), account.role, account.edibility]
    first += [" ".join(map(str, season.months)), " ".join(map(str, season.peak))]
    for stage in (ALL, *STAGES):
        if stage == ALL or stage in account.characters:
            values = account.characters.get(stage, {})
            yield [*first, stage, *(_cell(values.get(one.key, UNKNOWN), one) for one in characters)]


def _cell(value: Value, character: Character) -> str:
    if isinstance(value, Interval):
        return f"{value.low:g} to {value.high:g}"
    if isinstance(value, frozenset):
        return "; ".join(state.label for key, state in character.states.items() if key in value)
    return "has none" if value is INAPPLICABLE else "not known"
