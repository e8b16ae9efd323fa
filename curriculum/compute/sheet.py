"""A species sheet: an account turned into the words and the order in which a person reads it.

Page, PDF and booklet show the same sheet. Danger is read from the lookalike's own account, never from a copy.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from curriculum.compute.account import ALL, STAGES, Account, Interval, Lookalike, Separator
from curriculum.compute.apart import SHORT, VERDICTS, Apart, ApartRow
from curriculum.compute.coverage import unsourced_safety_groups
from curriculum.compute.phenology import season_curve
from curriculum.compute.separation import Verdict
from curriculum.compute.value_words import words
from curriculum.compute.vocabulary import Vocabulary

NO_ACCOUNT = "No account yet: treat the pair as not settled."


@dataclass(frozen=True, slots=True)
class Row:
    """One character in words: at every age, and what is added young or mature (empty where nothing is)."""

    key: str
    label: str
    always: str
    young: str
    mature: str


@dataclass(frozen=True, slots=True)
class LookalikeNote:
    """A taxon to tell this one from. `word` is the danger word ("Deadly", "Poisonous") or empty."""

    taxon: str | None
    name: str
    scientific: str
    edibility: str
    word: str
    rank: int
    note: str
    apart: Apart


@dataclass(frozen=True, slots=True)
class SourceLine:
    """A source as printed, with the fact groups that it carries."""

    title: str
    publisher: str
    seen: bool
    carries: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """Everything that a sheet prints about one taxon, in reading order."""

    taxon: str
    group: str
    role: str
    common: str
    other_names: tuple[str, ...]
    scientific: str
    authority: str
    synonyms: tuple[str, ...]
    family: str
    edibility_key: str
    edibility: str
    word: str
    tier: str
    summary: str
    rows: tuple[Row, ...]
    half_months: tuple[float, ...]
    parts: tuple[tuple[str, str, tuple[float, ...]], ...]
    caveats: tuple[str, ...]
    dangers: tuple[LookalikeNote, ...]
    harmless: tuple[LookalikeNote, ...]
    syndrome: str
    onset: str
    symptoms: tuple[str, ...]
    toxicology_note: str
    sources: tuple[SourceLine, ...]
    memory: tuple[str, ...]
    unsourced: tuple[str, ...]
    disagreements: tuple[str, ...]


Pair = Callable[[Account, Account, tuple[Separator, ...]], Apart]
"""How a pair is told apart; a page of many sheets hands in one that remembers."""


def sheet_of(account: Account, others: Mapping[str, Account], vocabulary: Vocabulary, pair: Pair) -> Sheet:
    """The sheet of `account`; `others` holds the accounts by taxon, from which the dangers of lookalikes are read."""
    notes = [_lookalike(account, one, others, vocabulary, pair) for one in account.lookalikes]
    notes.sort(key=lambda note: -note.rank)
    accepted = next(one for one in account.names if one.kind == "accepted")
    edibility = vocabulary.terms["edibility"][account.edibility]
    poison = account.toxicology
    return Sheet(
        taxon=account.taxon,
        group=account.group,
        role=account.role,
        common=account.vernacular(),
        other_names=tuple(_english(account))[1:],
        scientific=accepted.name,
        authority=accepted.authority,
        synonyms=tuple(one.name for one in account.names if one.kind == "synonym"),
        family=account.family,
        edibility_key=account.edibility,
        edibility=edibility.label,
        word=edibility.label if edibility.danger else "",
        tier=vocabulary.label("tier", account.tier) if account.tier else "",
        summary=account.summary,
        rows=tuple(_rows(account, vocabulary)),
        half_months=season_curve(account.season),
        parts=tuple(_parts(account, vocabulary)),
        caveats=tuple(one.text for one in account.caveats),
        dangers=tuple(note for note in notes if note.word),
        harmless=tuple(note for note in notes if not note.word),
        syndrome=vocabulary.label("syndrome", poison.syndrome) if poison else "",
        onset=_onset(poison.onset_hours) if poison else "",
        symptoms=poison.symptoms if poison else (),
        toxicology_note=poison.note if poison else "",
        sources=tuple(_sources(account, vocabulary)),
        memory=tuple(fact for facts in account.memory.values() for fact in facts),
        unsourced=tuple(unsourced_safety_groups(account, vocabulary)),
        disagreements=account.disagreements,
    )


def _rows(account: Account, vocabulary: Vocabulary) -> Iterable[Row]:
    known = vocabulary.characters_of(account.group)
    order = [*account.look_order, *(key for key in known if key not in account.look_order)]
    for key in order:
        told = [words(account.characters.get(stage, {}).get(key, frozenset()), known[key]) for stage in (ALL, *STAGES)]
        if any(told):
            yield Row(key, known[key].label, told[0], told[1], told[2])


def _parts(account: Account, vocabulary: Vocabulary) -> Iterable[tuple[str, str, tuple[float, ...]]]:
    for one in account.parts:
        yield vocabulary.label("part", one.part), one.use, season_curve(one.season)


def _lookalike(
    account: Account, one: Lookalike, others: Mapping[str, Account], vocabulary: Vocabulary, pair: Pair
) -> LookalikeNote:
    other = others.get(one.taxon) if one.taxon else None
    verdict = other.edibility if other else one.feared or "deadly"
    term = vocabulary.terms["edibility"][verdict]
    return LookalikeNote(
        taxon=other.taxon if other else None,
        name=other.vernacular() if other else one.group_name or str(one.taxon),
        scientific=other.accepted_name if other else "",
        edibility=term.label,
        word=term.label if term.danger else "",
        rank=term.rank,
        note=one.note if other else f"{one.note} {NO_ACCOUNT}".strip(),
        apart=pair(account, other, one.separators) if other else _only_written(one, vocabulary),
    )


def _only_written(one: Lookalike, vocabulary: Vocabulary) -> Apart:
    """Advice against a lookalike without an account: nothing can be held against it, so nothing settles."""
    rows = (_unchecked(row, vocabulary) for row in one.separators)
    return Apart(VERDICTS[Verdict.UNSETTLED], SHORT[Verdict.UNSETTLED], tuple(rows))


def _unchecked(row: Separator, vocabulary: Vocabulary) -> ApartRow:
    label, never = _label(row, vocabulary), "not by what is recorded"
    return ApartRow(row.character, row.character, label, row.this, row.other, never)


def _label(row: Separator, vocabulary: Vocabulary) -> str:
    character = vocabulary.characters.get(row.character)
    return character.label if character else row.character


def _onset(hours: object) -> str:
    if not isinstance(hours, Interval):
        return "not known"
    return f"{_hours(hours.low)} to {_hours(hours.high)}"


def _hours(hours: float) -> str:
    if hours >= 72:
        return f"{hours / 24:.3g} days"
    return f"{round(hours * 60)} minutes" if hours < 1 else f"{hours:.3g} hours"


def _english(account: Account) -> list[str]:
    return [one.name for one in account.names if one.kind == "vernacular" and one.language == "en"]


def _sources(account: Account, vocabulary: Vocabulary) -> Iterable[SourceLine]:
    for source in account.sources:
        carried = [group for group, rows in account.cited.items() if any(row.source == source.key for row in rows)]
        labels = tuple(vocabulary.label("fact_group", group) for group in carried)
        yield SourceLine(source.title, source.publisher, source.seen, labels)
