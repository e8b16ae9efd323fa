"""The hazard library: what can harm people on a walk, what is done about it, and which facts make it relevant.

It is data, read strictly from the files of walks/hazards/library; nothing in it is a program. Each hazard says where
its controls come from: a published source, or "common practice, no source". The scores are the trade's judgement, never
a measurement.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import product

from walks.compute.risk_facts import QUARTER, Fact, read_fact
from walks.compute.risk_matrix import Score
from walks.compute.risk_rules import Action, Predicate, Rule, conditions, read_predicate
from walks.compute.strict_tables import Problem, Table, nearest, open_file, refuse_if_any


@dataclass(frozen=True, slots=True)
class Source:
    """Where a control comes from. `seen`: read by us, on the day `read`; else from memory."""

    key: str
    title: str
    publisher: str = ""
    seen: bool = False
    read: str = ""


@dataclass(frozen=True, slots=True)
class Step:
    """One of the five steps of a risk assessment, what this assessment holds for it, and who set the step."""

    title: str
    holds: str
    source: str


@dataclass(frozen=True, slots=True)
class Hazard:
    """Something that can harm: whom and how, the score before and after the controls, and what is still to do."""

    key: str
    title: str
    who: str
    before: Score
    after: Score
    controls: tuple[str, ...]
    further: tuple[Action, ...]
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Library:
    """Hazards and the rules that fire them, over one vocabulary of facts, in one version."""

    version: str
    facts: Mapping[str, Fact]
    sources: Mapping[str, Source]
    steps: tuple[Step, ...]
    hazards: Mapping[str, Hazard]
    rules: tuple[Rule, ...]


def library_from(files: Mapping[str, Mapping[str, object]]) -> Library:
    """The library in data files, by file name. TablesRefused names every fault with file, key and what was expected.

    Refused besides misspellings: a score after the controls that exceeds the one before them; a hazard that no fact
    can fire; a fact marked never_silent that fires nothing by itself.
    """
    problems: list[Problem] = []
    tops = [open_file(file, files[file], problems) for file in sorted(files)]
    owners = [owner for top in tops for owner in top.texts("owners")]
    facts = {fact.key: fact for fact in (read_fact(table) for table in _all(tops, "fact"))}
    sources = {source.key: source for source in (_source(table) for table in _all(tops, "source"))}
    hazards = {hazard.key: hazard for hazard in (_hazard(t, sources, owners) for t in _all(tops, "hazard"))}
    library = Library(
        version="".join(top.text("version") for top in tops if top.has("version")),
        facts=facts,
        sources=sources,
        steps=tuple(_step(table, sources) for table in _all(tops, "step")),
        hazards=hazards,
        rules=tuple(rule for table in _all(tops, "rule") if (rule := _rule(table, facts, hazards, owners))),
    )
    for top in tops:
        top.finish()
    refuse_if_any(problems)
    refuse_if_any(list(_faults(library)))
    return library


def _all(tops: list[Table], key: str) -> Iterator[Table]:
    """Every table of this key in every file; a second one of the same name is refused, not silently preferred."""
    names: set[object] = set()
    for table in (table for top in tops for table in top.tables(key)):
        name = table.rest.get("key")
        if name is not None and name in names:
            table.refuse("key", f"'{name}' is there already")
        names.add(name)
        yield table


def _source(table: Table) -> Source:
    source = Source(
        key=table.text("key"),
        title=table.text("title"),
        publisher=table.text("publisher", ""),
        seen=table.flag("seen", False),
        read=table.text("read", ""),
    )
    if source.seen and not source.read:
        table.refuse("read", "expected the day on which it was seen")
    table.finish()
    return source


def _step(table: Table, sources: Mapping[str, Source]) -> Step:
    source = table.word("source", sources)
    step = Step(table.text("title"), table.text("holds"), sources[source].title if source in sources else "")
    table.finish()
    return step


def _hazard(table: Table, sources: Mapping[str, Source], owners: list[str]) -> Hazard:
    hazard = Hazard(
        key=table.text("key"),
        title=table.text("title"),
        who=table.text("who"),
        before=_score(table, "before"),
        after=_score(table, "after"),
        controls=table.texts("controls", required=True),
        further=_actions(table, owners),
        sources=table.words("sources", sources, required=True),
    )
    if hazard.after.exceeds(hazard.before):
        table.refuse("after", "expected no rating higher than in 'before'")
    table.finish()
    return hazard


def _score(table: Table, key: str) -> Score:
    pair = table.table(key)
    score = Score(pair.number("likelihood", 1, 5), pair.number("severity", 1, 5))
    pair.finish()
    return score


def _actions(table: Table, owners: list[str]) -> tuple[Action, ...]:
    actions = []
    for row in table.tables("further"):
        actions.append(Action(row.text("action"), row.word("owner", owners)))
        row.finish()
    return tuple(actions)


def _rule(table: Table, facts: Mapping[str, Fact], hazards: Mapping[str, Hazard], owners: list[str]) -> Rule | None:
    hazard = hazards.get(table.word("hazard", hazards))
    when = read_predicate(table.table("when"), facts)
    before = _score(table, "before") if table.has("before") else None
    after = _score(table, "after") if table.has("after") else None
    controls, further = table.texts("controls"), _actions(table, owners)
    table.finish()
    if hazard is None or when is None:
        return None
    if after and after.exceeds(hazard.before.joined(before) if before else hazard.before):
        table.refuse("after", "expected no rating higher than in 'before' of the rule or its hazard")
    return Rule(hazard.key, when, before, after, controls, further)


def _faults(library: Library) -> Iterator[Problem]:
    if not library.version or not library.steps:
        yield Problem("library", "version, step", "expected a version and the steps of an assessment")
    for key in unreachable(library):
        yield Problem("library", f"hazard {key}", "no fact can fire it; expected a rule that can hold")
    for fact in library.facts.values():
        if fact.never_silent and not _speaks(library, fact):
            yield Problem("library", f"fact {fact.key}", "expected a rule that this fact alone fires")
        other = fact.unknown_counts_where[0] if fact.unknown_counts_where else fact.key
        if other not in library.facts:
            yield Problem("library", f"fact {fact.key}", f"'{other}' is not known; {nearest(other, library.facts)}")


def _speaks(library: Library, fact: Fact) -> bool:
    """Whether a rule hangs on this fact alone, so that one word of it is enough whatever else is so."""
    return any(
        {condition.fact.key for condition in conditions(rule.when)} == {fact.key}
        and rule.when.fired_by({fact.key: ("anything",)}) is not None
        for rule in library.rules
    )


def unreachable(library: Library) -> tuple[str, ...]:
    """The hazards that no facts can fire: they have no rule, or only rules whose months and times contradict.

    Conditions on other facts cannot contradict one another, because each fact is tested towards one side only.
    """
    fired = {rule.hazard for rule in library.rules if _can_hold(rule.when)}
    return tuple(key for key in library.hazards if key not in fired)


def _can_hold(predicate: Predicate) -> bool:
    neutral = {c.fact.key: c.fact for c in conditions(predicate) if c.fact.kind in ("month", "time")}
    ranges = [range(f.lowest, f.highest + 1, QUARTER if f.kind == "time" else 1) for f in neutral.values()]
    return any(predicate.fired_by(dict(zip(neutral, values, strict=True))) is not None for values in product(*ranges))
