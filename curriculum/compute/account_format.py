"""Reads an account file: one TOML document a taxon, in the words of the vocabulary.

The format (our own): scalars about the taxon; [[name]]; [habitat]; [characters] with [characters.young] and
[characters.mature]; [season]; [[part]]; [[caveat]]; [toxicology]; [[lookalike]] with separators; [[source]]; [cited]
and [memory], both by group of facts; unknown, look_order, disagreements. A file is taken whole, or refused with all
its faults.
"""

import re
import tomllib
from collections.abc import Callable, Collection, Iterable, Mapping
from typing import Any

from curriculum.compute.account import (
    ALL,
    INAPPLICABLE,
    ROLES,
    STAGES,
    UNKNOWN,
    Account,
    Caveat,
    Citation,
    Interval,
    Lookalike,
    Missing,
    Name,
    Part,
    Season,
    Separator,
    Source,
    Toxicology,
    Value,
)
from curriculum.compute.cursor import Cursor
from curriculum.compute.problems import Problem, Refused
from curriculum.compute.vocabulary import GROUPS, Character, Vocabulary

FORMAT = 1
PLACE = ("habitat", "substrate", "host")
_TAXON = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*")


class AccountRefused(Refused):
    """The file is not an account; nothing of it was taken. `problems` lists every fault."""


def read_account(content: str | Mapping[str, Any], file: str, vocabulary: Vocabulary) -> Account:
    """The account in the text (TOML) or in an already parsed document; AccountRefused with every fault found.

    `file` is only named in the faults. Words that the vocabulary has deprecated are still read.
    """
    problems: list[Problem] = []
    top = Cursor(_parsed(content, file), file, "", problems)
    if top.data.get("format") != FORMAT:
        top.refuse("format", top.data.get("format"), f"the number {FORMAT}")
    top.asked.add("format")
    account = _account(top, vocabulary)
    top.finish()
    if problems:
        raise AccountRefused(problems)
    return account


def unmet_lookalikes(accounts: Iterable[Account]) -> tuple[Problem, ...]:
    """One problem for each lookalike whose taxon has no account among these: a danger that could not be read."""
    accounts = tuple(accounts)
    known = {one.taxon for one in accounts}
    return tuple(
        Problem(f"{one.taxon}.toml", "lookalike.taxon", named.taxon, "the taxon of an account, or a group_name")
        for one in accounts
        for named in one.lookalikes
        if named.taxon is not None and named.taxon not in known
    )


def _parsed(content: str | Mapping[str, Any], file: str) -> Mapping[str, Any]:
    if not isinstance(content, str):
        return content
    try:
        return tomllib.loads(content)
    except tomllib.TOMLDecodeError as error:
        raise AccountRefused([Problem(file, "(whole file)", str(error), "a TOML document")]) from error


def _account(top: Cursor, vocabulary: Vocabulary) -> Account:
    terms = vocabulary.terms
    group = top.word("group", GROUPS)
    role = top.word("role", ROLES)
    sources = _sources(top, terms["source_kind"])
    keys = [one.key for one in sources]
    known = vocabulary.characters_of(group)
    unknown = tuple(sorted(top.words("unknown", known)))
    return Account(
        taxon=_taxon(top),
        group=group,
        role=role,
        family=top.text("family"),
        order=top.text("order"),
        edibility=_edibility(top, role, vocabulary),
        tier=_tier(top, role, terms["tier"]),
        summary=top.text("summary"),
        names=_names(top, terms),
        season=_season(top.table("season"), finish=True),
        characters=_characters(top, known, unknown),
        unknown=unknown,
        look_order=top.words("look_order", known),
        parts=_parts(top, terms["part"]),
        caveats=_rows(top, "caveat", lambda row: Caveat(row.word("kind", terms["caveat_kind"]), row.text("text"))),
        toxicology=_toxicology(top, terms["syndrome"]),
        lookalikes=_rows(top, "lookalike", lambda row: _lookalike(row, known, terms["edibility"])),
        sources=sources,
        cited=_by_group(top.table("cited"), terms["fact_group"], lambda table, key: _citations(table, key, keys)),
        memory=_by_group(top.table("memory"), terms["fact_group"], lambda table, key: table.texts(key)),
        disagreements=top.texts("disagreements"),
    )


def _taxon(top: Cursor) -> str:
    taxon = top.text("taxon")
    if taxon and not _TAXON.fullmatch(taxon):
        top.refuse("taxon", taxon, "lower-case words joined by hyphens, such as pleurotus-ostreatus")
    return taxon


def _edibility(top: Cursor, role: str, vocabulary: Vocabulary) -> str:
    scale = vocabulary.terms["edibility"]
    edibility = top.word("edibility", scale)
    if edibility not in scale:
        return edibility
    if role == "taught" and scale[edibility].danger:
        top.refuse("role", role, f"danger, because the edibility is {edibility}")
    if role != "danger" and scale[edibility].danger:
        top.refuse("edibility", edibility, "a verdict that does not harm, or the role danger")
    return edibility


def _tier(top: Cursor, role: str, tiers: Collection[str]) -> str | None:
    tier = top.word("tier", tiers, needed=role == "taught")
    if tier and role != "taught":
        top.refuse("tier", tier, f"no tier, because the role is {role or 'not known'}")
    return tier or None


def _names(top: Cursor, terms: Mapping[str, Collection[str]]) -> tuple[Name, ...]:
    names = _rows(top, "name", lambda row: _name(row, terms))
    accepted = sum(one.kind == "accepted" for one in names)
    if accepted != 1:
        top.refuse("name", f"{accepted} accepted names", "exactly one name of the kind accepted")
    return names


def _name(row: Cursor, terms: Mapping[str, Collection[str]]) -> Name:
    return Name(
        name=row.text("name"),
        kind=row.word("kind", terms["name_kind"]),
        language=row.word("language", terms["language"]),
        authority=row.text("authority", needed=False),
        since=row.text("since", needed=False),
    )


def _season(table: Cursor, *, finish: bool = False) -> Season:
    season = Season(table.months("months"), table.months("peak"))
    if not season.months:
        table.refuse("months", "nothing", "the months as numbers from 1 to 12")
    elif not set(season.peak) <= set(season.months):
        table.refuse("peak", list(season.peak), "only months that are among months")
    if finish:
        table.finish()
    return season


def _parts(top: Cursor, parts: Collection[str]) -> tuple[Part, ...]:
    return _rows(top, "part", lambda row: Part(row.word("part", parts), _season(row), row.text("use", needed=False)))


def _characters(
    top: Cursor, known: Mapping[str, Character], unknown: Collection[str]
) -> Mapping[str, Mapping[str, Value]]:
    place, table = top.table("habitat"), top.table("characters")
    placing = {key: one for key, one in known.items() if key in PLACE}
    shown = {key: one for key, one in known.items() if key not in PLACE}
    stages = {stage: _values(table.table(stage), shown, unknown) for stage in STAGES}
    given = {ALL: _values(place, placing, unknown) | _values(table, shown, unknown, stages)}
    given |= {stage: values for stage, values in stages.items() if values}
    return _with_inapplicable(given, known, table)


def _values(
    table: Cursor, known: Mapping[str, Character], unknown: Collection[str], stages: Collection[str] = ()
) -> dict[str, Value]:
    values = {key: _value(table, one) for key, one in known.items() if table.has(key)}
    for key in values:
        if key in unknown:
            table.refuse(key, "a value", f"no value, because unknown names {key}")
    table.asked.update(known, stages)
    table.finish()
    return {key: value for key, value in values.items() if value is not UNKNOWN}


def _value(table: Cursor, character: Character) -> Value:
    if character.kind == "range":
        pair = table.pair(character.key, character.unit)
        return Interval(*pair) if pair else UNKNOWN
    states = frozenset(table.words(character.key, character.states))
    if not states:
        table.refuse(character.key, "an empty list", "at least one state (what nobody knows goes to unknown)")
    return states or UNKNOWN


def _with_inapplicable(
    given: dict[str, dict[str, Value]], known: Mapping[str, Character], table: Cursor
) -> Mapping[str, Mapping[str, Value]]:
    for stage in tuple(given):
        for key, character in known.items():
            if not _absent(given, stage, character):
                continue
            if given[stage].get(key, INAPPLICABLE) is not INAPPLICABLE:
                cause = character.controlled_by.character if character.controlled_by else ""
                table.refuse(key if stage == ALL else f"{stage}.{key}", "a value", f"no value, because of {cause}")
            given[stage][key] = INAPPLICABLE
    return given


def _absent(given: Mapping[str, Mapping[str, Value]], stage: str, character: Character) -> bool:
    """Whether every value of the controlling character at this stage says that the structure is not there."""
    control = character.controlled_by
    if control is None:
        return False
    found = [given[one].get(control.character) for one in {ALL, stage} if one in given]
    states = [one for one in found if isinstance(one, frozenset)]
    if any(one is INAPPLICABLE for one in found):
        return True
    return bool(states) and frozenset().union(*states) <= control.states


def _toxicology(top: Cursor, syndromes: Collection[str]) -> Toxicology | None:
    table = top.table("toxicology")
    if not top.has("toxicology"):
        return None
    toxicology = Toxicology(
        syndrome=table.word("syndrome", syndromes),
        toxins=table.texts("toxins"),
        onset_hours=_onset(table),
        symptoms=table.texts("symptoms"),
        note=table.text("note", needed=False),
    )
    table.finish()
    return toxicology


def _onset(table: Cursor) -> Interval | Missing:
    if table.data.get("onset_hours") == UNKNOWN.value:
        table.asked.add("onset_hours")
        return UNKNOWN
    pair = table.pair("onset_hours", "hours after the meal, or the word unknown")
    return Interval(*pair) if pair else UNKNOWN


def _lookalike(row: Cursor, known: Collection[str], scale: Collection[str]) -> Lookalike:
    lookalike = Lookalike(
        taxon=row.text("taxon", needed=False) or None,
        group_name=row.text("group_name", needed=False),
        feared=row.word("feared", scale, needed=False),
        note=row.text("note", needed=False),
        separators=_rows(row, "separators", lambda one: _separator(one, known)),
    )
    if lookalike.taxon and (lookalike.group_name or lookalike.feared):
        row.refuse("feared", lookalike.feared or lookalike.group_name, "nothing: the danger is read from the account")
    if not lookalike.taxon and not (lookalike.group_name and lookalike.feared):
        row.refuse("taxon", "nothing", "the taxon of an account, or group_name and feared where there is no account")
    return lookalike


def _separator(row: Cursor, known: Collection[str]) -> Separator:
    return Separator(row.word("character", known), row.text("this"), row.text("other"))


def _sources(top: Cursor, kinds: Collection[str]) -> tuple[Source, ...]:
    sources = _rows(top, "source", lambda row: _source(row, kinds))
    keys = [one.key for one in sources]
    if len(set(keys)) < len(keys):
        top.refuse("source", keys, "a key of its own for each source")
    return sources


def _source(row: Cursor, kinds: Collection[str]) -> Source:
    return Source(
        key=row.text("key"),
        title=row.text("title"),
        kind=row.word("kind", kinds),
        seen=row.flag("seen"),
        publisher=row.text("publisher", needed=False),
        address=row.text("address", needed=False),
        read_on=row.day("read_on"),
    )


def _citations(table: Cursor, group: str, sources: Collection[str]) -> tuple[Citation, ...]:
    return _rows(
        table,
        group,
        lambda row: Citation(
            row.word("source", sources), row.text("locator", needed=False), row.text("supports", needed=False)
        ),
    )


def _by_group(
    table: Cursor, groups: Collection[str], read: Callable[[Cursor, str], tuple[Any, ...]]
) -> dict[str, tuple[Any, ...]]:
    found = {group: read(table, group) for group in groups if table.has(group)}
    table.asked.update(groups)
    table.finish()
    return found


def _rows(cursor: Cursor, key: str, read: Callable[[Cursor], Any]) -> tuple[Any, ...]:
    found = []
    for row in cursor.tables(key):
        found.append(read(row))
        row.finish()
    return tuple(found)
