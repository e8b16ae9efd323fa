"""Character tables of others, made into accounts, so that similarity and keys can be held to published results."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from curriculum.compute.account import ALL, UNKNOWN, Account, Interval, Name, Season, Value
from curriculum.compute.keys import Key, make_key
from curriculum.compute.similarity import similarity, spans
from curriculum.compute.vocabulary import Character, State, Vocabulary

GROUP = "fungus"
NOT_KNOWN = "?"

Cell = str | int | float
Row = Sequence[Cell]


def gower_dissimilarities(table: Sequence[Row]) -> list[list[float]]:
    """Row n holds the dissimilarity of item n + 1 to each item before it; "?" is unknown, a word is a state."""
    characters = [_character(f"c{place}", {row[place] for row in table}) for place in range(len(table[0]))]
    values = [_values(row, characters) for row in table]
    wide = spans(values)
    return [
        [1 - (similarity(values[here], values[there], characters, wide).score or 0) for there in range(here)]
        for here in range(1, len(table))
    ]


def key_to_table(names: Sequence[str], table: Sequence[str], mean_length: float) -> Mapping[str, Any]:
    """The key to a table of states, a digit for each ("12" is 1 or 2), columns apart by blanks.

    `mean_length` is that of the published division: "as_short" says whether this one is no longer.
    """
    key = _key(names, [row.split() for row in table])
    return {
        "couplets": len(key.couplets),
        "groups": leaves_of_key(names, table),
        "as_short": key.mean_length() <= mean_length,
    }


def leaves_of_key(names: Sequence[str], table: Sequence[str]) -> list[list[str]]:
    """The items at each leaf of the key to such a table."""
    return sorted(sorted(leaf) for leaf in _key(names, [row.split() for row in table]).leaves)


def _key(names: Sequence[str], rows: Sequence[Sequence[str]]) -> Key:
    digits = [{digit for row in rows for digit in row[place]} for place in range(len(rows[0]))]
    characters = [_character(f"c{place:02}", found) for place, found in enumerate(digits)]
    taxa = [_account(name, _values([_digits(cell) for cell in row], characters)) for name, row in _zip(names, rows)]
    return make_key(taxa, Vocabulary(1, {one.key: one for one in characters}, {}))


def _zip(names: Sequence[str], rows: Sequence[Sequence[str]]) -> Iterable[tuple[str, Sequence[str]]]:
    return zip(names, rows, strict=True)


def _digits(cell: str) -> Cell | frozenset[str]:
    return cell if cell == NOT_KNOWN else frozenset(cell)


def _character(key: str, cells: Iterable[Cell]) -> Character:
    known = [cell for cell in cells if cell != NOT_KNOWN]
    kind = "states" if any(isinstance(cell, str) for cell in known) else "range"
    return Character(key, key, frozenset([GROUP]), kind, key, key, key, "glance", "steady", states=_states(kind, known))


def _states(kind: str, cells: Iterable[Cell]) -> Mapping[str, Any]:
    return {str(cell): State(str(cell), str(cell)) for cell in cells} if kind == "states" else {}


def _values(row: Sequence[Any], characters: Sequence[Character]) -> dict[str, Value]:
    return {one.key: _value(cell) for cell, one in zip(row, characters, strict=True)}


def _value(cell: Any) -> Value:
    if cell == NOT_KNOWN:
        return UNKNOWN
    if isinstance(cell, frozenset):
        return cell
    return frozenset([cell]) if isinstance(cell, str) else Interval(cell, cell)


def _account(name: str, values: Mapping[str, Value]) -> Account:
    return Account(
        taxon=name, group=GROUP, role="lookalike", family="", order="", edibility="inedible", summary="",
        names=(Name(name, "accepted", "la"),), season=Season(()), characters={ALL: values},
    )  # fmt: skip
