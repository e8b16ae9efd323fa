"""What is wrong with a file that a person wrote, said so that the person can put it right."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from difflib import get_close_matches

_LISTED = 12


@dataclass(frozen=True, slots=True)
class Problem:
    """One fault: the file, the dotted key in it, what stands there, and what was expected instead."""

    file: str
    key: str
    found: str
    expected: str

    def __str__(self) -> str:
        return f"{self.file}: {self.key}: found {self.found}; expected {self.expected}"


class Refused(ValueError):
    """A file is refused as a whole and nothing of it is used; `problems` lists every fault, not only the first."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems: Sequence[Problem] = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


def nearest(word: str, allowed: Collection[str]) -> str:
    """What was expected, as words: the nearest allowed word if one is near, and the allowed words."""
    close = get_close_matches(word, allowed, n=1, cutoff=0.6)
    suggestion = f"perhaps {close[0]!r}; " if close else ""
    return f"{suggestion}one of: {_listed(allowed)}"


def _listed(allowed: Collection[str]) -> str:
    words = sorted(allowed)
    more = f" and {len(words) - _LISTED} more" if len(words) > _LISTED else ""
    return ", ".join(words[:_LISTED]) + more
