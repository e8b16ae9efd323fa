"""An account: all that is taught, or warned of, about one taxon. Facts only; who signed it is kept elsewhere.

Coding (our rule; DELTA keeps unknown and inapplicable apart likewise): a value is a set of states, rare ones included;
a closed interval in the character's unit; UNKNOWN (nobody recorded it); or INAPPLICABLE (the structure is absent).
Values without a stage belong to every stage; values of a stage are added to them, never put in their place.
"""

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum
from functools import cached_property
from typing import TypeAlias

STAGES = ("young", "mature")
ALL = "all"
ROLES = ("taught", "danger", "lookalike")


class Missing(Enum):
    """Why there is no value. Neither ever makes two taxa differ by itself."""

    UNKNOWN = "unknown"
    INAPPLICABLE = "inapplicable"


UNKNOWN = Missing.UNKNOWN
INAPPLICABLE = Missing.INAPPLICABLE


@dataclass(frozen=True, slots=True)
class Interval:
    """All values from `low` to `high`, both included, in the unit of the character (mm, or hours of onset)."""

    low: float
    high: float


Value: TypeAlias = frozenset[str] | Interval | Missing


@dataclass(frozen=True, slots=True)
class Name:
    """One name of the taxon. `kind` is accepted, synonym or vernacular; `language` "la" for scientific names."""

    name: str
    kind: str
    language: str
    authority: str = ""
    since: str = ""


@dataclass(frozen=True, slots=True)
class Season:
    """Months 1 to 12 in which the taxon is found (or a part gathered), and those in which it is at its best."""

    months: tuple[int, ...]
    peak: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Part:
    """A part of a plant or seaweed that is gathered: which, when, and what for."""

    part: str
    season: Season
    use: str = ""


@dataclass(frozen=True, slots=True)
class Caveat:
    """A condition on eating or handling; `kind` is a term of the vocabulary."""

    kind: str
    text: str


@dataclass(frozen=True, slots=True)
class Toxicology:
    """What the taxon does to a person. `onset_hours` is the widest published interval from the meal, or UNKNOWN."""

    syndrome: str
    toxins: tuple[str, ...]
    onset_hours: Interval | Missing
    symptoms: tuple[str, ...]
    note: str = ""


@dataclass(frozen=True, slots=True)
class Separator:
    """How one character tells this taxon from the lookalike, in words for the reader."""

    character: str
    this: str
    other: str


@dataclass(frozen=True, slots=True)
class Lookalike:
    """A taxon that this one is confused with.

    `taxon` names an account, and the danger is read there. Where no account exists `taxon` is None, `group_name` says
    what is meant and `feared` is the worst verdict known of it: the pair counts as unsettled, at that danger, until
    an account is written, whatever the separators say.
    """

    taxon: str | None
    note: str
    separators: tuple[Separator, ...]
    group_name: str = ""
    feared: str = ""


@dataclass(frozen=True, slots=True)
class Source:
    """A published text. `seen` says that its text, or an excerpt, was read; `read_on` the day if it was noted."""

    key: str
    title: str
    kind: str
    seen: bool
    publisher: str = ""
    address: str = ""
    read_on: datetime.date | None = None


@dataclass(frozen=True, slots=True)
class Citation:
    """Which source carries a group of facts, where in it, and what it supports."""

    source: str
    locator: str = ""
    supports: str = ""


@dataclass(frozen=True)
class Account:
    """Everything recorded about one taxon. `taxon` is a stable id and is not a name.

    Without slots: lists ask a hundred walks for the same habitats and hosts, which are worked out once.
    """

    taxon: str
    group: str
    role: str
    family: str
    order: str
    edibility: str
    summary: str
    names: tuple[Name, ...]
    season: Season
    characters: Mapping[str, Mapping[str, Value]]
    tier: str | None = None
    unknown: tuple[str, ...] = ()
    look_order: tuple[str, ...] = ()
    parts: tuple[Part, ...] = ()
    caveats: tuple[Caveat, ...] = ()
    toxicology: Toxicology | None = None
    lookalikes: tuple[Lookalike, ...] = ()
    sources: tuple[Source, ...] = ()
    cited: Mapping[str, tuple[Citation, ...]] = field(default_factory=dict)
    memory: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    disagreements: tuple[str, ...] = ()

    @property
    def accepted_name(self) -> str:
        """The accepted scientific name."""
        return next(one.name for one in self.names if one.kind == "accepted")

    def vernacular(self, language: str = "en") -> str:
        """The first common name in the language, or the accepted scientific name where there is none."""
        named = (one.name for one in self.names if one.kind == "vernacular" and one.language == language)
        return next(named, self.accepted_name)

    def value(self, character: str, stage: str = ALL) -> Value:
        """The value at a stage; at "all" (stage not sure) the union, UNKNOWN as soon as one stage lacks it."""
        if stage != ALL:
            return _joined(self._given(ALL, character), self._given(stage, character))
        young, mature = (self.value(character, one) for one in STAGES)
        return _over_stages(young, mature)

    def states(self, character: str) -> tuple[str, ...]:
        """The states at any stage, sorted; empty where unknown or inapplicable. For lists and labels only."""
        found = (self._given(stage, character) for stage in (ALL, *STAGES))
        return tuple(sorted(set().union(*(one for one in found if isinstance(one, frozenset)))))

    @cached_property
    def habitats(self) -> tuple[str, ...]:
        """Keys of the habitats, sorted; empty where unknown."""
        return self.states("habitat")

    @cached_property
    def substrates(self) -> tuple[str, ...]:
        """Keys of what it grows on, sorted; empty where unknown."""
        return self.states("substrate")

    @cached_property
    def hosts(self) -> tuple[str, ...]:
        """Keys of the trees or weeds that it grows with or on, sorted; empty where unknown."""
        return self.states("host")

    @cached_property
    def growth(self) -> tuple[str, ...]:
        """Keys of the ways in which it stands together, sorted; empty where unknown."""
        return self.states("growth")

    def _given(self, stage: str, character: str) -> Value:
        return self.characters.get(stage, {}).get(character, UNKNOWN)


def _joined(everywhere: Value, here: Value) -> Value:
    """What holds at every stage together with what is added at this one."""
    if isinstance(everywhere, Missing) or isinstance(here, Missing):
        return _present(everywhere, here)
    return _widest(everywhere, here)


def _present(everywhere: Value, here: Value) -> Value:
    """What is absent at a stage is absent there, even if it is recorded of the taxon as a whole."""
    return everywhere if here is UNKNOWN else here


def _over_stages(young: Value, mature: Value) -> Value:
    if young is mature:
        return young
    if isinstance(young, Missing) or isinstance(mature, Missing):
        return UNKNOWN
    return _widest(young, mature)


def _widest(one: frozenset[str] | Interval, other: frozenset[str] | Interval) -> Value:
    if isinstance(one, Interval) and isinstance(other, Interval):
        return Interval(min(one.low, other.low), max(one.high, other.high))
    if isinstance(one, frozenset) and isinstance(other, frozenset):
        return one | other
    raise TypeError("one character cannot be a set of states at one stage and a range at another")
