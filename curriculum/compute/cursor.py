"""A place in a file being read: asks for a value, notes what is wrong with it, and always goes on."""

import datetime
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from typing import Any
from unicodedata import normalize

from curriculum.compute.problems import Problem, nearest


@dataclass(slots=True)
class Cursor:
    """One table of a file. Every fault is appended to `problems`, which all cursors of a file share.

    A reader that found a fault returns an empty value, so that the rest of the file is still looked at.
    """

    data: Mapping[str, Any]
    file: str
    path: str
    problems: list[Problem]
    asked: set[str] = field(default_factory=set)

    def refuse(self, key: str, found: object, expected: str) -> None:
        """Note one fault at a key of this table."""
        self.problems.append(Problem(self.file, self._at(key), _shown(found), expected))

    def has(self, key: str) -> bool:
        """Whether the key stands in the file."""
        return key in self.data

    def text(self, key: str, *, needed: bool = True) -> str:
        """A text without space around it, in Unicode form NFC."""
        value = self._get(key, "" if not needed else None)
        if value is None:
            self.refuse(key, "nothing", "a text")
            return ""
        return self._clean(key, value)

    def texts(self, key: str) -> tuple[str, ...]:
        """A list of texts, in the order of the file."""
        return tuple(self._clean(key, one) for one in self._list(key))

    def word(self, key: str, allowed: Collection[str], *, needed: bool = True) -> str:
        """One word of the vocabulary."""
        if needed and not self.has(key):
            self.refuse(key, None, nearest("", allowed))
        word = self.text(key, needed=False)
        if word and word not in allowed:
            self.refuse(key, word, nearest(word, allowed))
        return word

    def words(self, key: str, allowed: Collection[str]) -> tuple[str, ...]:
        """A list of words of the vocabulary; a single word counts as a list of one."""
        words = self.texts(key)
        for word in words:
            if word and word not in allowed:
                self.refuse(key, word, nearest(word, allowed))
        if len(set(words)) < len(words):
            self.refuse(key, words, "each word once")
        return words

    def flag(self, key: str) -> bool:
        """true or false."""
        value = self._get(key, None)
        if not isinstance(value, bool):
            self.refuse(key, value, "true or false")
        return value is True

    def day(self, key: str) -> datetime.date | None:
        """A date, as TOML writes it or as text YYYY-MM-DD; None if the key is absent."""
        value = self._get(key, None)
        if value is None or isinstance(value, datetime.date):
            return value
        try:
            return datetime.date.fromisoformat(value)
        except (TypeError, ValueError):
            self.refuse(key, value, "a date such as 2026-11-25")
            return None

    def months(self, key: str) -> tuple[int, ...]:
        """Numbers of months, in the order of the file (which may run over the new year)."""
        value = self._list(key)
        good = [one for one in value if _is_whole(one) and 1 <= one <= 12]
        if len(good) < len(value) or len(set(good)) < len(good):
            self.refuse(key, value, "months as numbers from 1 to 12, each once")
        return tuple(dict.fromkeys(good))

    def pair(self, key: str, unit: str) -> tuple[float, float] | None:
        """Two numbers, the lower first and neither negative; None if they are not that."""
        value = self._get(key, None)
        if not _is_pair(value):
            self.refuse(key, value, f"the lowest and the highest value in {unit}, such as [40, 200]")
            return None
        return value[0], value[1]

    def table(self, key: str) -> "Cursor":
        """The table under a key; an empty one if it is absent."""
        return self._inside(key, self._get(key, {}))

    def tables(self, key: str) -> list["Cursor"]:
        """The tables of a list of tables; none if it is absent."""
        rows = self._get(key, [])
        if not isinstance(rows, list):
            self.refuse(key, rows, f"a list of tables, each begun with [[{self._at(key)}]]")
            return []
        return [self._inside(f"{key}[{number}]", row) for number, row in enumerate(rows, 1)]

    def finish(self) -> None:
        """Refuse every key that nobody asked for: a misspelt key would else be lost in silence."""
        for key in self.data:
            if key not in self.asked:
                self.refuse(key, "a key of that name", nearest(key, self.asked))

    def _inside(self, key: str, value: Any) -> "Cursor":
        if not isinstance(value, Mapping):
            self.refuse(key, value, "a table")
            value = {}
        return Cursor(value, self.file, self._at(key), self.problems)

    def _get(self, key: str, default: Any) -> Any:
        self.asked.add(key)
        return self.data.get(key, default)

    def _list(self, key: str) -> list[Any]:
        value = self._get(key, [])
        return value if isinstance(value, list) else [value]

    def _clean(self, key: str, value: Any) -> str:
        if not isinstance(value, str):
            self.refuse(key, value, "a text")
            return ""
        return normalize("NFC", value).strip()

    def _at(self, key: str) -> str:
        return f"{self.path}.{key}" if self.path else key


def _shown(found: object) -> str:
    return "nothing" if found is None else found if isinstance(found, str) and found else repr(found)


def _is_whole(value: object) -> bool:
    return isinstance(value, int) and not isinstance(value, bool)


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _is_pair(value: Any) -> bool:
    return isinstance(value, list) and len(value) == 2 and all(map(_is_number, value)) and 0 <= value[0] <= value[1]
