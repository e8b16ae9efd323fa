"""Reads the files of published figures. One file for each source; any word that it does not know is refused.

A strict reader keeps a misspelt word from quietly switching a check off.
"""

import tomllib
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

from tests.published.registry import COMPUTATIONS, Computation

FOLDER = Path(__file__).parent

SOURCE_NEEDS = {"title", "locator", "seen"}
SOURCE_MAY = {"date_read", "note", "tolerance", "case", "refusal"}
TOLERANCE_NEEDS = {"amount", "unit"}
CASE_NEEDS = {"name", "computes", "given", "expected"}
REFUSAL_NEEDS = {"name", "computes", "given", "sentence"}
ENTRY_MAY = {"seen", "note"}


class PublishedError(ValueError):
    """A file of published figures is not in order; the sentence names file, entry and fault."""


@dataclass(frozen=True, slots=True)
class Case:
    """One published figure: what is given, what the source says comes out, and how far off a result may be.

    `seen` = somebody read the figure in the source or in a stated quotation of it; False = recalled, to be verified.
    """

    source: str
    name: str
    computes: str
    given: Mapping[str, Any]
    expected: Any
    tolerance: float
    seen: bool


@dataclass(frozen=True, slots=True)
class Refusal:
    """An input that must be refused, and the whole sentence that says so."""

    source: str
    name: str
    computes: str
    given: Mapping[str, Any]
    sentence: str
    seen: bool


@dataclass(frozen=True, slots=True)
class Source:
    """All checks against one published source."""

    name: str
    title: str
    cases: tuple[Case, ...]
    refusals: tuple[Refusal, ...]


def load_all(folder: Path = FOLDER, computations: Mapping[str, Computation] = COMPUTATIONS) -> tuple[Source, ...]:
    """Every source of the folder, in the order of the file names. PublishedError if one is not in order."""
    return tuple(load(path, computations) for path in sorted(folder.glob("*.toml")))


def load(path: Path, computations: Mapping[str, Computation] = COMPUTATIONS) -> Source:
    """One source from its file."""
    try:
        table = tomllib.loads(path.read_text(encoding="utf-8"))
    except tomllib.TOMLDecodeError as fault:
        raise PublishedError(f"{path.name}: {fault}") from fault
    _words(table, SOURCE_NEEDS, SOURCE_MAY, path.name)
    _source_is_dated(table, path.name)
    tolerances = _tolerances(table.get("tolerance", {}), path.name, computations)
    cases = tuple(_case(row, table, tolerances, path, computations) for row in table.get("case", []))
    refusals = tuple(_refusal(row, table, path, computations) for row in table.get("refusal", []))
    _entries_are_in_order(cases, refusals, tolerances, path.name)
    return Source(path.stem, table["title"], cases, refusals)


def distance(expected: Any, got: Any) -> float:
    """How far `got` is off, in the unit of the computation; times of day in minutes; infinite where kinds differ.

    Of a table every published key must be there; further results are not compared.
    """
    if isinstance(expected, Mapping):
        return max((distance(value, got.get(key)) for key, value in expected.items()), default=float("inf"))
    if isinstance(expected, list):
        same_length = isinstance(got, list | tuple) and len(expected) == len(got)
        return max(map(distance, expected, got), default=float("inf")) if same_length else float("inf")
    if isinstance(expected, datetime | time) and isinstance(got, type(expected)):
        return abs(_minutes(expected) - _minutes(got))
    if _is_number(expected) and _is_number(got):
        return abs(expected - got)
    return 0.0 if expected == got and type(expected) is type(got) else float("inf")


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _minutes(moment: datetime | time) -> float:
    if isinstance(moment, datetime):
        return moment.timestamp() / 60
    return moment.hour * 60 + moment.minute + moment.second / 60


def _words(table: Mapping[str, Any], needs: Collection[str], may: Collection[str], where: str) -> None:
    unknown = sorted(set(table) - set(needs) - set(may))
    missing = sorted(set(needs) - set(table))
    if unknown:
        raise PublishedError(
            f"{where}: unknown word {', '.join(unknown)}; it may say {', '.join(sorted([*needs, *may]))}."
        )
    if missing:
        raise PublishedError(f"{where}: missing word {', '.join(missing)}.")


def _source_is_dated(table: Mapping[str, Any], where: str) -> None:
    if not isinstance(table["seen"], bool):
        raise PublishedError(f"{where}: seen is true or false.")
    if table["seen"] != isinstance(table.get("date_read"), date):
        raise PublishedError(f"{where}: a source that was seen has a date_read, one from memory has none.")


def _tolerances(table: Mapping[str, Any], where: str, computations: Mapping[str, Computation]) -> Mapping[str, float]:
    for name, row in table.items():
        _words(row, TOLERANCE_NEEDS, (), f"{where}, tolerance of {name}")
        unit = _computation(name, where, computations).unit
        if row["unit"] != unit:
            raise PublishedError(f"{where}: {name} comes in {unit}, its tolerance in {row['unit']}.")
        if not _is_number(row["amount"]) or row["amount"] < 0:
            raise PublishedError(f"{where}: the tolerance of {name} is no amount.")
    return {name: float(row["amount"]) for name, row in table.items()}


def _case(
    row: Mapping[str, Any],
    table: Mapping[str, Any],
    tolerances: Mapping[str, float],
    path: Path,
    computations: Mapping[str, Computation],
) -> Case:
    where = f"{path.name}, case {row.get('name', 'without a name')}"
    _words(row, CASE_NEEDS, ENTRY_MAY, where)
    _given_is_known(row, where, computations)
    if row["computes"] not in tolerances:
        raise PublishedError(f"{where}: no tolerance is stated for {row['computes']}.")
    if row["expected"] in ({}, []):
        raise PublishedError(f"{where}: expects nothing, so it cannot fail.")
    tolerance = tolerances[row["computes"]]
    return Case(
        path.stem, row["name"], row["computes"], row["given"], row["expected"], tolerance, _seen(row, table, where)
    )


def _refusal(
    row: Mapping[str, Any], table: Mapping[str, Any], path: Path, computations: Mapping[str, Computation]
) -> Refusal:
    where = f"{path.name}, refusal {row.get('name', 'without a name')}"
    _words(row, REFUSAL_NEEDS, ENTRY_MAY, where)
    _given_is_known(row, where, computations)
    return Refusal(path.stem, row["name"], row["computes"], row["given"], row["sentence"], _seen(row, table, where))


def _seen(row: Mapping[str, Any], table: Mapping[str, Any], where: str) -> bool:
    seen = row.get("seen", table["seen"])
    if not isinstance(seen, bool) or (seen and not table["seen"]):
        raise PublishedError(f"{where}: seen is true or false, and never true in a source from memory.")
    return seen


def _given_is_known(row: Mapping[str, Any], where: str, computations: Mapping[str, Computation]) -> None:
    _words(row["given"], _computation(row["computes"], where, computations).given, (), f"{where}, given")


def _computation(name: str, where: str, computations: Mapping[str, Computation]) -> Computation:
    if name not in computations:
        raise PublishedError(f"{where}: no computation is called {name}; known are {', '.join(sorted(computations))}.")
    return computations[name]


def _entries_are_in_order(
    cases: tuple[Case, ...], refusals: tuple[Refusal, ...], tolerances: Mapping[str, float], where: str
) -> None:
    names = [entry.name for entry in (*cases, *refusals)]
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise PublishedError(f"{where}: the name {', '.join(twice)} is used twice.")
    if not names:
        raise PublishedError(f"{where}: holds no case and no refusal.")
    idle = sorted(set(tolerances) - {case.computes for case in cases})
    if idle:
        raise PublishedError(f"{where}: the tolerance of {', '.join(idle)} serves no case.")
