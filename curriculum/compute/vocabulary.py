"""The controlled vocabulary: every word in which an account may state a fact.

Definition: a *character* is one feature of an organism that can be seen or measured; it is either a set of named
*states* or a *range* in one unit. Keys of characters, states and terms are never changed and never deleted: a word that
goes out of use is marked deprecated, so that an old signed account can still be read.
Source: our rule. A character of one organ that another character shows to be absent is inapplicable, as in DELTA.
It must not be taken for an identification key: it only says which words exist and how they relate.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any

from curriculum.compute.problems import Problem, Refused, nearest

GROUPS = ("fungus", "plant", "seaweed")
KINDS = ("states", "range")
UNITS = ("mm",)
EFFORTS = ("glance", "hand", "cut", "overnight")
RELIABILITIES = ("steady", "varies", "unreliable")


class VocabularyRefused(Refused):
    """The vocabulary files contradict themselves; `problems` lists every fault."""


@dataclass(frozen=True, slots=True)
class Term:
    """A word of a flat list, such as a kind of caveat or a part of a plant.

    `rank` orders a scale (0 is the mildest); `safety` marks a fact group that may not stay without a source;
    `danger` marks a verdict that forbids eating because it harms.
    """

    key: str
    label: str
    note: str = ""
    rank: int = 0
    safety: bool = False
    danger: bool = False
    deprecated: bool = False


@dataclass(frozen=True, slots=True)
class State:
    """One named value of a character; `confused_with` holds the keys that a beginner takes for it."""

    key: str
    label: str
    confused_with: frozenset[str] = frozenset()
    deprecated: bool = False


@dataclass(frozen=True, slots=True)
class Control:
    """The character is inapplicable where every value of `character` is among `states`."""

    character: str
    states: frozenset[str]


@dataclass(frozen=True, slots=True)
class Character:
    """One feature: what it describes, how it is seen and whether it may count in a separation.

    Characters of one `evidence_group` are one piece of evidence. `counts` is false for what never separates
    (smell, taste, what takes overnight). A range is in `unit`; a character with states has the unit "".
    """

    key: str
    label: str
    groups: frozenset[str]
    kind: str
    organ: str
    property: str
    evidence_group: str
    effort: str
    reliability: str
    counts: bool = True
    unit: str = ""
    states: Mapping[str, State] = field(default_factory=dict)
    controlled_by: Control | None = None
    note: str = ""
    deprecated: bool = False

    def widened(self, states: Iterable[str]) -> frozenset[str]:
        """The states together with all that a beginner confuses with any of them."""
        found = frozenset(states)
        return found.union(*(self.states[state].confused_with for state in found))


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """All characters by key, and all flat lists of terms by the name of the list."""

    version: int
    characters: Mapping[str, Character]
    terms: Mapping[str, Mapping[str, Term]]

    def characters_of(self, group: str) -> Mapping[str, Character]:
        """The characters that apply to fungi, plants or seaweeds, in the order of the files."""
        return {key: one for key, one in self.characters.items() if group in one.groups}

    def label(self, terms: str, key: str) -> str:
        """The words that people read for a term's key; KeyError if there is none."""
        return self.terms[terms][key].label


def vocabulary_from(dicts: Iterable[Mapping[str, Any]]) -> Vocabulary:
    """One vocabulary out of the contents of several files; VocabularyRefused if they contradict each other."""
    problems: list[Problem] = []
    version = 0
    palettes: dict[str, Any] = {}
    characters: dict[str, Any] = {}
    terms: dict[str, Any] = {}
    for data in dicts:
        version = max(version, int(data.get("version", 0)))
        for store, table in ((palettes, "palette"), (characters, "character"), (terms, "terms")):
            _add(store, data.get(table, {}), table, problems)
    built = {key: _character(key, one, palettes, problems) for key, one in characters.items()}
    problems += [problem for one in built.values() for problem in _faults(one, built)]
    if version < 1:
        problems.append(Problem("vocabulary", "version", str(version), "a whole number from 1 on"))
    if problems:
        raise VocabularyRefused(problems)
    lists = {name: _terms(table) for name, table in terms.items()}
    return Vocabulary(version, MappingProxyType(built), MappingProxyType(lists))


def _add(store: dict[str, Any], table: Mapping[str, Any], name: str, problems: list[Problem]) -> None:
    for key, value in table.items():
        if key in store:
            problems.append(Problem("vocabulary", f"{name}.{key}", "a second definition", "each key defined once"))
        store[key] = value


def _terms(table: Mapping[str, Any]) -> Mapping[str, Term]:
    return MappingProxyType({key: _term(key, value) for key, value in table.items()})


def _term(key: str, value: str | Mapping[str, Any]) -> Term:
    return Term(key, value) if isinstance(value, str) else Term(key=key, **value)


def _character(key: str, data: Mapping[str, Any], palettes: Mapping[str, Any], problems: list[Problem]) -> Character:
    source = palettes.get(data.get("palette", ""), data)
    control = data.get("controlled_by")
    plain: dict[str, Any] = {word: "" for word in _REQUIRED if word in _PLAIN}
    plain |= {word: data[word] for word in _PLAIN if word in data}
    problems += [_unknown_word(key, word) for word in data if word not in (*_PLAIN, *_BUILT)]
    problems += [_missing_word(key, word) for word in _REQUIRED if word not in data]
    return Character(
        key=key,
        groups=frozenset(data.get("groups", ())),
        states=_states(key, source, problems),
        controlled_by=Control(control["character"], frozenset(control["states"])) if control else None,
        **plain,
    )


_PLAIN = (
    "label", "kind", "unit", "organ", "property", "evidence_group", "effort", "reliability", "counts", "note",
    "deprecated",
)  # fmt: skip
_BUILT = ("groups", "states", "confused", "deprecated_states", "palette", "controlled_by")
_REQUIRED = ("label", "groups", "kind", "organ", "property", "evidence_group", "effort", "reliability")


def _unknown_word(key: str, word: str) -> Problem:
    return Problem("vocabulary", f"character.{key}.{word}", word, nearest(word, (*_PLAIN, *_BUILT)))


def _missing_word(key: str, word: str) -> Problem:
    return Problem("vocabulary", f"character.{key}.{word}", "nothing", "a value")


def _states(key: str, data: Mapping[str, Any], problems: list[Problem]) -> Mapping[str, State]:
    labels: Mapping[str, str] = data.get("states", {})
    neighbours: dict[str, set[str]] = {state: set() for state in labels}
    for alike in data.get("confused", ()):
        _join(neighbours, alike, key, problems)
    gone = frozenset(data.get("deprecated_states", ()))
    return MappingProxyType(
        {state: State(state, label, frozenset(neighbours[state]), state in gone) for state, label in labels.items()}
    )


def _join(neighbours: dict[str, set[str]], alike: Sequence[str], key: str, problems: list[Problem]) -> None:
    """Every member of `alike` is a neighbour of every other: written once, and so symmetric."""
    strange = [state for state in alike if state not in neighbours]
    problems += [Problem("vocabulary", f"character.{key}.confused", s, nearest(s, neighbours)) for s in strange]
    known = [state for state in alike if state in neighbours]
    for state in known:
        neighbours[state].update(other for other in known if other != state)


def _faults(one: Character, built: Mapping[str, Character]) -> list[Problem]:
    checks = (
        ("kind", {one.kind}, KINDS),
        ("effort", {one.effort}, EFFORTS),
        ("reliability", {one.reliability}, RELIABILITIES),
        ("groups", set(one.groups), GROUPS),
        ("unit", {one.unit}, UNITS if one.kind == "range" else ("",)),
    )
    where = f"character.{one.key}"
    found = [
        Problem("vocabulary", f"{where}.{name}", word, nearest(word, allowed))
        for name, words, allowed in checks
        for word in sorted(words)
        if word not in allowed
    ]
    if (one.kind == "states") != bool(one.states):
        found.append(Problem("vocabulary", f"{where}.states", f"{len(one.states)} states", "states, or a range"))
    return found + _control_faults(one, built)


def _control_faults(one: Character, built: Mapping[str, Character]) -> list[Problem]:
    control = one.controlled_by
    if control is None:
        return []
    where = f"character.{one.key}.controlled_by"
    if control.character not in built:
        return [Problem("vocabulary", where, control.character, nearest(control.character, built))]
    states = built[control.character].states
    keys = list(built)
    if keys.index(control.character) > keys.index(one.key):
        return [Problem("vocabulary", where, control.character, "a character defined before the one it controls")]
    return [Problem("vocabulary", where, s, nearest(s, states)) for s in sorted(control.states) if s not in states]
