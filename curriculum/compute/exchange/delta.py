"""Writes the character table in DELTA, the exchange format of taxonomists (DEscription Language for TAxonomy).

Format: M. J. Dallwitz, A general system for coding taxonomic descriptions, Taxon 29 (1980) 41-46, and M. J. Dallwitz,
T. A. Paine and E. J. Zurcher, User's guide to the DELTA System (1993 onwards); recalled, and read in part in published
examples. Three texts a group: CHARS (characters and states), SPECS (their types and dependence) and ITEMS (the taxa).

What is unknown is U, what is inapplicable is -, and both are written out. An item is a taxon, or what is added of it at
one stage; in an item of a stage, what is left out is told by the item of all stages. Our keys stand in comments
(<key ...>): numbers may change, keys never do.
Sources, caveats and lookalikes have no place in DELTA and are not in it; the TOML text of an account holds everything.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from textwrap import wrap

from curriculum.compute.account import ALL, INAPPLICABLE, STAGES, UNKNOWN, Account, Interval, Value
from curriculum.compute.vocabulary import Character, Vocabulary

_WIDTH = 79


@dataclass(frozen=True, slots=True)
class DeltaTexts:
    """The three texts of a data set."""

    chars: str
    specs: str
    items: str


def delta_texts(accounts: Iterable[Account], group: str, vocabulary: Vocabulary) -> DeltaTexts:
    """The accounts of one group of organisms, in the order given."""
    characters = tuple(vocabulary.characters_of(group).values())
    members = [one for one in accounts if one.group == group]
    items = [item for one in members for item in _items(one, characters)]
    title = f"{group}, vocabulary version {vocabulary.version}"
    return DeltaTexts(
        chars="\n\n".join([f"*SHOW Characters: {title}", "*CHARACTER LIST", *_character_list(characters), ""]),
        specs="\n\n".join([*_specs(characters, len(items), title), ""]),
        items="\n\n".join([f"*SHOW Taxa: {title}", "*ITEM DESCRIPTIONS", *items, ""]),
    )


def _character_list(characters: Sequence[Character]) -> Iterable[str]:
    for number, one in enumerate(characters, 1):
        below = [f"{place}. {plain(one.states[key].label)} <key {key}>/" for place, key in enumerate(one.states, 1)]
        lines = below or [f"{one.unit}/"]
        yield "\n".join([f"#{number}. {plain(one.label)} <key {one.key}>/", *(f"      {line}" for line in lines)])


def _specs(characters: Sequence[Character], items: int, title: str) -> Iterable[str]:
    numbers = {one.key: number for number, one in enumerate(characters, 1)}
    states = {numbers[one.key]: len(one.states) for one in characters if one.states}
    yield f"*SHOW Specifications: {title}"
    yield f"*NUMBER OF CHARACTERS {len(characters)}"
    yield f"*MAXIMUM NUMBER OF STATES {max(states.values(), default=2)}"
    yield f"*MAXIMUM NUMBER OF ITEMS {items}"
    kinds = (f"{numbers[one.key]},{'UM' if one.states else 'RN'}" for one in characters)
    yield _filled(["*CHARACTER TYPES", *kinds])
    yield _filled(["*NUMBERS OF STATES", *(f"{number},{count}" for number, count in states.items())])
    yield _filled(["*DEPENDENT CHARACTERS", *_dependent(characters, numbers)])


def _dependent(characters: Sequence[Character], numbers: Mapping[str, int]) -> Iterable[str]:
    """Controlling character, its states, and the character that these make inapplicable: 4,1/3:9."""
    known = {one.key: one for one in characters}
    for one in characters:
        control = one.controlled_by
        if control and control.character in known:
            order = list(known[control.character].states)
            states = "/".join(str(place) for place, key in enumerate(order, 1) if key in control.states)
            yield f"{numbers[control.character]},{states}:{numbers[one.key]}"


def _items(account: Account, characters: Sequence[Character]) -> Iterable[str]:
    for stage in (ALL, *STAGES):
        if stage == ALL or stage in account.characters:
            head = f"# {plain(account.accepted_name)} <key {account.taxon} {stage}>/"
            values = account.characters.get(stage, {})
            told = [(number, one) for number, one in enumerate(characters, 1) if stage == ALL or one.key in values]
            coded = (f"{number},{_coded(values.get(one.key, UNKNOWN), one)}" for number, one in told)
            yield f"{head}\n{_filled(coded)}"


def _coded(value: Value, character: Character) -> str:
    if value is UNKNOWN:
        return "U"
    if value is INAPPLICABLE:
        return "-"
    if isinstance(value, Interval):
        ends = [_number(value.low), _number(value.high)]
        return ends[0] if ends[0] == ends[1] else "-".join(ends)
    return "/".join(str(place) for place, key in enumerate(character.states, 1) if key in value)  # type: ignore[operator]


def _number(number: float) -> str:
    return str(int(number)) if number == int(number) else repr(float(number))


def plain(text: str) -> str:
    """A text without the signs that mean something in DELTA: comments, directives, characters, ends."""
    for sign, instead in (("<", "("), (">", ")"), ("*", "×"), ("#", "no. "), ("/", ", ")):
        text = text.replace(sign, instead)
    return " ".join(text.split())


def _filled(words: Iterable[str]) -> str:
    return "\n".join(wrap(" ".join(words), _WIDTH, break_long_words=False, break_on_hyphens=False))
