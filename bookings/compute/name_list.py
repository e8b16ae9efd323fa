"""The names of a large party from a list that a spreadsheet saved."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from io import StringIO

from foraywright.floor.compute.plain_text import one_line

HEADER = ("number", "age", "name")
LONGEST = 120
LOST = "\N{REPLACEMENT CHARACTER}"


@dataclass(frozen=True, slots=True)
class NameList:
    """`names`: place in the party (from 0) → name. `faults`: what is wrong, by line; with any, nothing counts."""

    names: Mapping[int, str]
    faults: tuple[str, ...]


def blank_list(ages: Sequence[str], names: Sequence[str]) -> str:
    """The list to be filled in: a line a person, with what is known. RFC 4180."""
    written = StringIO()
    rows = csv.writer(written)
    rows.writerow(HEADER)
    rows.writerows((number, age, name) for number, (age, name) in enumerate(zip(ages, names, strict=True), start=1))
    return written.getvalue()


def read_name_list(content: bytes, ages: Sequence[str]) -> NameList:
    """Read `content`, UTF-8 or Windows-1252, its columns parted by comma, semicolon or tab.

    `ages`: the age band of each person in words, in the order of the party. A line without a name is passed over.
    """
    text = _text(content)
    if text is None:
        return NameList({}, ("This is no list of text. Save it from your spreadsheet as CSV.",))
    if unread := _unread(text):
        return NameList({}, unread)
    first = text.splitlines()[0] if text else ""
    rows = csv.reader(StringIO(text, newline=None), delimiter=max(",;\t", key=first.count))
    columns = [one.strip().lower() for one in next(rows, [])]
    if not {"number", "name"} <= set(columns):
        return NameList({}, ("The first line must name the columns: number, age, name. Take our list and fill it in.",))
    read = [(rows.line_num, [one_line(cell) for cell in row]) for row in rows]
    filled = [(line, one) for line, row in read if (one := dict(zip(columns, row, strict=False))).get("name")]
    faults = [*_too_wide(read, len(columns)), *_faults(filled, ages)]
    return NameList({} if faults else {int(row["number"]) - 1: row["name"] for _, row in filled}, tuple(faults))


def _text(content: bytes) -> str | None:
    if b"\x00" in content:
        return None
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return content.decode("cp1252", errors="replace")


def _unread(text: str) -> tuple[str, ...]:
    """Faults of lines with a letter that Windows-1252 lacks, or that a program before us lost: no name is guessed."""
    lost = (number for number, line in enumerate(StringIO(text, newline=None), start=1) if LOST in line)
    return tuple(f"Line {one}: a letter in it cannot be read. Save the list again as “CSV UTF-8”." for one in lost)


def _too_wide(read: Sequence[tuple[int, Sequence[str]]], columns: int) -> Iterator[str]:
    """“Ash, Mary” without quotation marks would otherwise lose its Mary."""
    for line, row in read:
        if any(row[columns:]):
            yield f"Line {line}: more columns than the first line names. Put “ ” round a name that holds a comma."


def _is_place(number: str, most: int) -> bool:
    """Python refuses to read a number of thousands of digits."""
    return number.isascii() and number.isdigit() and len(number) < 10 and 0 < int(number) <= most


def _faults(filled: Sequence[tuple[int, Mapping[str, str]]], ages: Sequence[str]) -> Iterator[str]:
    seen: dict[str, int] = {}
    for line, row in filled:
        number, age = row.get("number", ""), row.get("age", "")
        if not _is_place(number, len(ages)):
            yield f"Line {line}: “{number[:20]}” is no number from 1 to {len(ages)}."
            continue
        if number in seen:
            yield f"Line {line}: number {number} stands in line {seen[number]} already."
        seen.setdefault(number, line)
        booked = ages[int(number) - 1]
        if age and age.lower() != booked.lower():
            yield f"Line {line}: number {number} is booked as “{booked}”, and the list says “{age}”."
        if len(row["name"]) > LONGEST:
            yield f"Line {line}: the name is longer than {LONGEST} letters."
