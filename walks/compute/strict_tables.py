"""Read a table of a data file strictly: every fault is kept with its file, its key and what was expected there."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

_MISSING = object()


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """One fault in a data file: where it stands and what should stand there."""

    file: str
    key: str
    expected: str

    def __str__(self) -> str:
        return f"{self.file}, {self.key}: {self.expected}"


class TablesRefused(ValueError):
    """The data cannot be used. `problems` lists every fault found, not only the first."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


def nearest(word: str, allowed: Iterable[str]) -> str:
    """The ending of a refusal that names the closest allowed word, or lists them all where none is close."""
    words = sorted(allowed)
    close = difflib.get_close_matches(word, words, n=1)
    return f"did you mean '{close[0]}'?" if close else f"allowed are {', '.join(words)}"


@dataclass(slots=True)
class Table:
    """One table under reading. Each read removes its key; `finish` refuses the keys that nobody asked for."""

    file: str
    key: str
    rest: dict[str, object]
    problems: list[Problem] = field(default_factory=list)

    def refuse(self, key: str, expected: str) -> None:
        """Keep a fault at `key` of this table."""
        path = ".".join(part for part in (self.key, key) if part)
        self.problems.append(Problem(self.file, path, expected))

    def has(self, key: str) -> bool:
        """Whether `key` stands in the table and has not been read yet."""
        return key in self.rest

    def _take(self, key: str, kind: type, expected: str, default: object) -> object:
        if key not in self.rest:
            if default is _MISSING:
                self.refuse(key, f"expected {expected}, found nothing")
            return default
        value = self.rest.pop(key)
        # bool is an int in Python: a `true` where a number is due must not pass as 1.
        if not isinstance(value, kind) or (kind is int and isinstance(value, bool)):
            self.refuse(key, f"expected {expected}, found {value!r}")
            return default
        return value

    def text(self, key: str, default: str | None = None) -> str:
        """A text that is not blank; without `default` it must be there."""
        value = self._take(key, str, "a text", _MISSING if default is None else default)
        if isinstance(value, str) and (value.strip() or default is not None):
            return value.strip()
        if isinstance(value, str):
            self.refuse(key, "expected a text that is not blank")
        return ""

    def word(self, key: str, allowed: Iterable[str], default: str | None = None) -> str:
        """A text out of `allowed`."""
        value, allowed = self.text(key, default), list(allowed)
        if value and value not in allowed:
            self.refuse(key, f"'{value}' is not known; {nearest(value, allowed)}")
        return value

    def flag(self, key: str, default: bool) -> bool:
        """True or false."""
        return bool(self._take(key, bool, "true or false", default))

    def number(self, key: str, low: int, high: int, default: int | None = None) -> int:
        """A whole number from `low` to `high`, both allowed."""
        expected = f"a whole number from {low} to {high}"
        value = self._take(key, int, expected, _MISSING if default is None else default)
        if isinstance(value, int) and low <= value <= high:
            return value
        if isinstance(value, int):
            self.refuse(key, f"expected {expected}, found {value}")
        return low

    def texts(self, key: str, *, required: bool = False) -> tuple[str, ...]:
        """A list of texts without blanks or doubles; empty where it is not there and not required."""
        values = self._take(key, list, "a list of texts", _MISSING if required else [])
        if not isinstance(values, list):
            return ()
        good = tuple(value for value in values if isinstance(value, str) and value.strip())
        if len(good) != len(values) or len(set(good)) != len(good):
            self.refuse(key, "expected a list of texts, none blank, none twice")
        if required and not values:
            self.refuse(key, "expected at least one text")
        return good

    def words(self, key: str, allowed: Iterable[str], *, required: bool = False) -> tuple[str, ...]:
        """A list of texts out of `allowed`."""
        values, allowed = self.texts(key, required=required), list(allowed)
        for value in values:
            if value not in allowed:
                self.refuse(key, f"'{value}' is not known; {nearest(value, allowed)}")
        return values

    def table(self, key: str) -> Table:
        """A table inside this one, which must be there."""
        value = self._take(key, dict, "a table", _MISSING)
        return self._inside(key, value if isinstance(value, dict) else {})

    def tables(self, key: str, *, required: bool = False) -> tuple[Table, ...]:
        """A list of tables inside this one, each named by its place, counted from 1."""
        values = self._take(key, list, "a list of tables", _MISSING if required else [])
        if not isinstance(values, list):
            return ()
        if any(not isinstance(value, dict) for value in values):
            self.refuse(key, "expected a list of tables")
        if required and not values:
            self.refuse(key, "expected at least one table")
        return tuple(self._inside(f"{key}[{n}]", v) for n, v in enumerate(values, start=1) if isinstance(v, dict))

    def _inside(self, key: str, value: Mapping[str, object]) -> Table:
        path = ".".join(part for part in (self.key, key) if part)
        return Table(self.file, path, dict(value), self.problems)

    def finish(self) -> None:
        """Refuse every key that has not been read: a misspelt key must not pass as prose."""
        for key in self.rest:
            self.refuse(key, "this key is not known here")
        self.rest.clear()


def open_file(file: str, content: Mapping[str, object], problems: list[Problem]) -> Table:
    """The outermost table of one data file; faults go to `problems`."""
    return Table(file, "", dict(content), problems)


def refuse_if_any(problems: list[Problem]) -> None:
    """Raise TablesRefused where a fault was found."""
    if problems:
        raise TablesRefused(problems)
