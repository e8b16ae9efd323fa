"""Reads a character table in DELTA: CHARS, SPECS and ITEMS, ours or those of others.

Read are the directives in DIRECTIVES, by the first three letters of their words; comments in angle brackets, nested
too; multistate values joined by / or &, and ranges of them; measures with extremes in brackets, of which the widest
rules; the pseudo-values U (unknown), - (inapplicable) and V (variable: every state, or unknown for a measure). Text
characters (TE) are passed over. A file with any other directive is refused: it might change what values mean, as
implicit values do.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import TypeAlias

from curriculum.compute.account import INAPPLICABLE, UNKNOWN, Interval, Missing

DIRECTIVES = (
    "SHOW", "COMMENT", "NUMBER OF CHARACTERS", "MAXIMUM NUMBER OF STATES", "MAXIMUM NUMBER OF ITEMS",
    "CHARACTER TYPES", "NUMBERS OF STATES", "DEPENDENT CHARACTERS", "CHARACTER LIST", "ITEM DESCRIPTIONS",
)  # fmt: skip
MULTISTATE, MEASURES, TEXT = ("UM", "OM"), ("IN", "RN"), "TE"
_HIDDEN = "\0"

Coded: TypeAlias = frozenset[int] | Interval | Missing


class DeltaRefused(ValueError):
    """The text is not DELTA that we can read; the sentence says where."""


@dataclass(frozen=True, slots=True)
class DeltaCharacter:
    """A character: its text with comments, its type (UM, OM, IN, RN or TE), its states by number, its unit."""

    number: int
    feature: str
    kind: str
    states: Mapping[int, str]
    unit: str


@dataclass(frozen=True, slots=True)
class DeltaItem:
    """A taxon: its name with comments, and what is coded, by number of the character."""

    name: str
    values: Mapping[int, Coded]


@dataclass(frozen=True, slots=True)
class DeltaData:
    """A whole data set."""

    characters: Mapping[int, DeltaCharacter]
    items: tuple[DeltaItem, ...]


def read_delta(chars: str, specs: str, items: str) -> DeltaData:
    """The data set in three texts. DeltaRefused where they cannot be read or do not agree."""
    told = [one for text in (chars, specs, items) for one in _directives(text)]
    kinds = character_types(_text_of(told, "CHARACTER TYPES"))
    characters = {one.number: one for one in read_characters(_text_of(told, "CHARACTER LIST"), kinds)}
    _check_counts(told, characters)
    found = tuple(_items(_text_of(told, "ITEM DESCRIPTIONS"), characters))
    return DeltaData(characters, found)


def character_types(text: str) -> dict[int, str]:
    """The types given by "1,TE 3,RN 5-7,UM"; a leading E (exclusive) is dropped. Others are UM."""
    return {number: kind.removeprefix("E") for numbers, kind in _pairs(text) for number in _span(numbers)}


def read_characters(text: str, kinds: Mapping[int, str]) -> Iterator[DeltaCharacter]:
    """The characters of a CHARACTER LIST."""
    for start, body in _pieces(text, r"#\s*(\d+)\."):
        number, parts = int(start[1]), _parts(body)
        if not parts:
            raise DeltaRefused(f"Character {number} does not end in a slash.")
        rows = [match for part in parts[1:] if (match := re.fullmatch(r"(\d+)\.\s*(.*)", part, re.DOTALL))]
        units = [part for part in parts[1:] if not re.match(r"\d+\.\s", part)]
        states = {int(row[1]): row[2] for row in rows}
        yield DeltaCharacter(number, parts[0], kinds.get(number, "UM"), states, " ".join(units))


def _directives(text: str) -> Iterator[tuple[str, str]]:
    """Each directive with the text that follows it."""
    for _, body in _pieces(text, r"\*"):
        yield _named(body.strip())


def _named(text: str) -> tuple[str, str]:
    words = text.split()
    for directive in sorted(DIRECTIVES, key=len, reverse=True):
        wanted = directive.split()
        given = words[: len(wanted)]
        if len(given) == len(wanted) and all(map(_abbreviates, given, wanted)):
            return directive, text.split(maxsplit=len(wanted))[len(wanted)] if len(words) > len(wanted) else ""
    raise DeltaRefused(f"The directive *{' '.join(words[:4])} is not read; read are {', '.join(DIRECTIVES)}.")


def _abbreviates(given: str, wanted: str) -> bool:
    """Only the first three letters of each word of a directive count."""
    return given.isupper() and given[:3] == wanted[:3]


def _text_of(told: Iterable[tuple[str, str]], directive: str) -> str:
    texts = [text for name, text in told if name == directive]
    if len(texts) != 1:
        raise DeltaRefused(f"*{directive} is there {len(texts)} times, and is needed once.")
    return texts[0]


def _check_counts(told: Iterable[tuple[str, str]], characters: Mapping[int, DeltaCharacter]) -> None:
    for name, text in told:
        if name == "NUMBER OF CHARACTERS" and int(text) != len(characters):
            raise DeltaRefused(f"{text} characters are announced, {len(characters)} are listed.")
        if name == "NUMBERS OF STATES":
            for numbers, count in _pairs(text):
                for number in _span(numbers):
                    listed = len(characters[number].states) if number in characters else 0
                    if listed != int(count):
                        raise DeltaRefused(f"Character {number} has {listed} states, {count} are announced.")


def _items(text: str, characters: Mapping[int, DeltaCharacter]) -> Iterator[DeltaItem]:
    for _, body in _pieces(text, "#"):
        close = re.search(r"/(?=\s|$)", _masked(body))
        if close is None:
            raise DeltaRefused(f"The name of the item {body.strip()[:40]!r} does not end in a slash.")
        name = body[: close.start()].strip()
        yield DeltaItem(name, dict(_attributes(body[close.end() :], characters, name)))


def _attributes(text: str, characters: Mapping[int, DeltaCharacter], item: str) -> Iterator[tuple[int, Coded]]:
    for token in _masked(text).split():
        match = re.fullmatch(r"(\d+)(?:,(.*))?", token.replace(_HIDDEN, ""))
        character = characters.get(int(match[1])) if match else None
        if match is None or character is None:
            raise DeltaRefused(f"{item}: {token.replace(_HIDDEN, '')} is no attribute of a listed character.")
        if character.kind != TEXT:
            yield character.number, _value(match[2] or "", character, item)


def _value(coded: str, character: DeltaCharacter, item: str) -> Coded:
    if coded in ("", "U"):
        return UNKNOWN
    if coded == "-":
        return INAPPLICABLE
    if coded == "V":
        return UNKNOWN if character.kind in MEASURES else frozenset(character.states)
    found = _measure(coded) if character.kind in MEASURES else _states(coded, character)
    if found is None:
        raise DeltaRefused(f"{item}: {coded} is no value of character {character.number}.")
    return found


def _measure(coded: str) -> Interval | None:
    """The widest of (4-)10-20(-30)."""
    if not re.fullmatch(r"[\d.()/&-]+", coded):
        return None
    numbers = [float(one) for one in re.findall(r"\d+(?:\.\d+)?", coded)]
    return Interval(min(numbers), max(numbers)) if numbers else None


def _states(coded: str, character: DeltaCharacter) -> frozenset[int] | None:
    parts = re.split(r"[/&]", coded)
    if not all(re.fullmatch(r"\d+(-\d+)?", part) for part in parts):
        return None
    states = frozenset(state for part in parts for state in _span(part))
    return states if states <= set(character.states) else None


def _pairs(text: str) -> Iterator[tuple[str, str]]:
    for token in text.split():
        numbers, comma, what = token.partition(",")
        if not comma or not re.fullmatch(r"\d+(-\d+)?", numbers):
            raise DeltaRefused(f"{token} should be a number, or a range of them, a comma and what holds for it.")
        yield numbers, what


def _span(numbers: str) -> range:
    first, _, last = numbers.partition("-")
    return range(int(first), int(last or first) + 1)


def _pieces(text: str, mark: str) -> Iterator[tuple[re.Match[str], str]]:
    """Each mark at the start of a line or after a blank, with the text up to the next one."""
    starts = [*re.finditer(rf"(?:^|(?<=\s)){mark}", _masked(text))]
    ends = [*(one.start() for one in starts[1:]), len(text)]
    return ((start, text[start.end() : end]) for start, end in zip(starts, ends, strict=False))


def _parts(text: str) -> list[str]:
    """The texts that end in a slash followed by a blank or the end of the line."""
    ends = [one.start() for one in re.finditer(r"/(?=\s|$)", _masked(text))]
    return [text[start:end].strip() for start, end in zip([0, *(end + 1 for end in ends)], ends, strict=False)]


def _masked(text: str) -> str:
    """The text with its comments blotted out, sign for sign, so that places stay what they are."""
    depth, signs = 0, []
    for sign in text:
        depth += sign == "<"
        signs.append(_HIDDEN if depth else sign)
        depth -= sign == ">" and depth > 0
    return "".join(signs)
