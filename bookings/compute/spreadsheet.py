"""Cells that a spreadsheet shows and never runs."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable
from io import StringIO

STARTS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "\x00")
CONTROLS = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f]")
NUMBER = re.compile(r"[+-]?[0-9][0-9 ]*")


def inert(text: str) -> str:
    """Return `text` so that no spreadsheet takes it for a formula: an apostrophe before what could start one.

    OWASP ASVS 5.0.0, 1.2.10, and its note on CSV injection. Phone numbers as "+44 1632 960118" stay as they are: plus,
    figures and blanks cannot call anything. Control characters are taken out; what stood behind one counts.
    """
    clean = CONTROLS.sub("", text)
    if (text.startswith(STARTS_A_FORMULA) or clean.startswith(STARTS_A_FORMULA)) and not NUMBER.fullmatch(clean):
        return f"'{clean}"
    return clean


def as_csv(rows: Iterable[Iterable[object]]) -> bytes:
    """The rows as CSV that spreadsheets read: UTF-8 with its mark. Texts must be `inert` already."""
    written = StringIO()
    csv.writer(written).writerows(rows)
    return written.getvalue().encode("utf-8-sig")
