"""Long lists: one page of rows, sorted on the server by the column that the reader chose.

Page and column stand in the address (`page`, `sort`), so that a list can be kept as a bookmark or gone back to.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.core.paginator import Page, Paginator
from django.db.models import QuerySet
from django.http import HttpRequest

A_PAGE = 40


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a list. `fields`: what it sorts by, upwards; none: it cannot be sorted by."""

    words: str
    fields: tuple[str, ...] = ()
    number: bool = False


@dataclass(frozen=True, slots=True)
class Head:
    """A column's head as the page shows it. `sort`: the value of the address that sorts by it, or turns it round."""

    words: str
    sort: str
    direction: str
    number: bool


@dataclass(frozen=True, slots=True)
class SortedList:
    """One page of rows, and the heads of all columns."""

    page: Page[Any]
    heads: tuple[Head, ...]


def sorted_list(
    request: HttpRequest, rows: QuerySet[Any], columns: Sequence[Column], *, first: str, a_page: int = A_PAGE
) -> SortedList:
    """Sort `rows` by the column that `sort` names, "-" before it for downwards, and cut out the page.

    A column is named by its words in small letters. Where the address names none that there is, `first` holds; a page
    too far is the last one. Rows that the column does not tell apart stand in the order in which they came to be.

    Three queries, and those that `rows` prefetches. The keys are sorted first, and only those of the page read with all
    that the rows carry: a database else reads and computes every column of every row before it sorts.
    """
    chosen = request.GET.get("sort", "")
    if _field(chosen, columns) is None:
        chosen = first
    found = _field(chosen, columns)
    assert found is not None, f"{first!r} is no column of this list"
    minus = "-" if chosen.startswith("-") else ""
    keys = rows.order_by(*(f"{minus}{one}" for one in (*found.fields, "pk"))).values_list("pk", flat=True)
    page: Page[Any] = Paginator(keys, a_page).get_page(request.GET.get("page"))
    wanted = list(page.object_list)
    read = rows.in_bulk(wanted)
    page.object_list = [read[key] for key in wanted if key in read]
    return SortedList(page, tuple(_head(one, chosen) for one in columns))


def _field(chosen: str, columns: Sequence[Column]) -> Column | None:
    name = chosen.removeprefix("-")
    return next((one for one in columns if one.fields and one.words.lower() == name), None)


def _head(column: Column, chosen: str) -> Head:
    name = column.words.lower()
    if not column.fields:
        return Head(column.words, "", "", column.number)
    if chosen == name:
        return Head(column.words, f"-{name}", "ascending", column.number)
    return Head(column.words, name, "descending" if chosen == f"-{name}" else "", column.number)
