"""The hazard library: what is shipped, and which libraries are refused with which sentence."""

import copy
import tomllib
from pathlib import Path
from typing import Any

import pytest

from tests.walks.compute.risk_cases import FILES, LIBRARY
from walks.compute.risk_facts import LAST_MINUTE, keep_facts
from walks.compute.risk_library import library_from, unreachable
from walks.compute.risk_rules import conditions
from walks.compute.strict_tables import TablesRefused

CURRICULUM = Path(__file__).parents[3] / "curriculum" / "vocabulary" / "places.toml"

SMALL = """
version = "1"
owners = ["guide"]

[[step]]
title = "Identify hazards"
holds = "All of them."
source = "ours"

[[source]]
key = "ours"
title = "Common practice, no source"

[[fact]]
key = "month"
kind = "month"
meaning = "The month."

[[fact]]
key = "start"
kind = "time"
rounds = "down"
meaning = "The start."

[[fact]]
key = "coverage"
kind = "scale"
words = ["good", "none"]
meaning = "Coverage."

[[fact]]
key = "minutes"
kind = "number"
unit = "minutes"
lowest = 0
highest = 60
worse = "higher"
meaning = "Minutes to help."

[[fact]]
key = "first_aider"
kind = "flag"
worse = false
meaning = "A first-aider is there."

[[fact]]
key = "deadly"
kind = "set"
open = true
never_silent = true
meaning = "Deadly species."

[[hazard]]
key = "poison"
title = "Poison"
who = "Anyone."
before = {likelihood = 3, severity = 5}
after = {likelihood = 1, severity = 5}
controls = ["Look twice."]
further = [{action = "Read.", owner = "guide"}]
sources = ["ours"]

[[rule]]
hazard = "poison"
when = {fact = "deadly", at_least = 1}
"""


def small() -> dict[str, Any]:
    """A sound library of one hazard."""
    return tomllib.loads(SMALL)


def refused(content: dict[str, Any]) -> list[str]:
    """The problems of a library in one file."""
    with pytest.raises(TablesRefused) as refusal:
        library_from({"ours.toml": content})
    return [str(problem) for problem in refusal.value.problems]


def with_rule(when: dict[str, Any]) -> dict[str, Any]:
    """The small library with one more rule."""
    content = small()
    content["rule"].append({"hazard": "poison", "when": when})
    return content


def test_the_small_library_is_sound():
    assert list(library_from({"ours.toml": small()}).hazards) == ["poison"]


def test_every_hazard_shipped_can_be_fired():
    assert unreachable(LIBRARY) == ()


def test_every_hazard_shipped_is_fired_by_known_facts_alone():
    fired = set()
    for month in range(1, 13):
        facts = keep_facts(LIBRARY.facts, {key: _worst(key) for key in LIBRARY.facts} | {"month": month})
        assert None not in facts.values()
        fired |= {rule.hazard for rule in LIBRARY.rules if rule.when.fired_by(facts) is not None}
    assert fired == set(LIBRARY.hazards)


def _worst(key: str) -> object:
    fact = LIBRARY.facts[key]
    return {
        "flag": fact.worse == "true",
        "scale": fact.words[-1] if fact.words else "",
        "number": fact.highest if fact.worse == "higher" else fact.lowest,
        "set": fact.words or ("amanita-phalloides",),
        "month": 1,
        "time": LAST_MINUTE,
    }[fact.kind]


def test_every_fact_and_every_source_serves():
    tested = {condition.fact.key for rule in LIBRARY.rules for condition in conditions(rule.when)}
    assert tested == set(LIBRARY.facts)
    cited = {source for hazard in LIBRARY.hazards.values() for source in hazard.sources}
    steps = {step.source for step in LIBRARY.steps}
    assert {key for key, source in LIBRARY.sources.items() if key not in cited and source.title not in steps} == set()


def test_every_site_hazard_and_arrangement_fires_something():
    words = {key: set[object]() for key in ("site_hazards", "access_controls", "activities")}
    for condition in (condition for rule in LIBRARY.rules for condition in conditions(rule.when)):
        words.get(condition.fact.key, set()).update(condition.among)
    assert words == {key: set(LIBRARY.facts[key].words) for key in words}


def test_habitats_are_the_words_of_the_curriculum():
    states = tomllib.loads(CURRICULUM.read_text(encoding="utf-8"))["character"]["habitat"]["states"]
    assert set(LIBRARY.facts["habitats"].words) == set(states)


def test_what_is_printed_is_sentences():
    texts = [hazard.who for hazard in LIBRARY.hazards.values()]
    for entry in (*LIBRARY.hazards.values(), *LIBRARY.rules):
        texts += [*entry.controls, *(action.action for action in entry.further)]
    assert [text for text in texts if not text.endswith(".") or not text[0].isupper()] == []


def test_a_hazard_without_a_rule_is_unreachable():
    content = small()
    content["hazard"].append({**content["hazard"][0], "key": "idle"})
    assert refused(content) == ["library, hazard idle: no fact can fire it; expected a rule that can hold"]


def test_a_rule_whose_months_contradict_is_unreachable():
    content = small()
    content["hazard"].append({**content["hazard"][0], "key": "never"})
    never = {"all": [{"fact": "month", "in": [1]}, {"fact": "month", "in": [7]}]}
    content["rule"].append({"hazard": "never", "when": never})
    assert refused(content) == ["library, hazard never: no fact can fire it; expected a rule that can hold"]


def test_a_rule_whose_times_contradict_is_unreachable():
    content = small()
    content["hazard"].append({**content["hazard"][0], "key": "never"})
    never = {"all": [{"fact": "start", "before": "09:00"}, {"fact": "start", "after": "08:45"}]}
    content["rule"].append({"hazard": "never", "when": never})
    assert refused(content) == ["library, hazard never: no fact can fire it; expected a rule that can hold"]


def test_a_deadly_species_may_not_depend_on_another_fact():
    content = small()
    content["rule"] = [
        {
            "hazard": "poison",
            "when": {"all": [{"fact": "deadly", "at_least": 1}, {"fact": "coverage", "at_least": "none"}]},
        }
    ]
    assert refused(content) == ["library, fact deadly: expected a rule that this fact alone fires"]


@pytest.mark.parametrize("least", [2, 3])
def test_one_deadly_species_must_be_enough(least):
    content = small()
    content["rule"] = [{"hazard": "poison", "when": {"fact": "deadly", "at_least": least}}]
    assert refused(content) == ["library, fact deadly: expected a rule that this fact alone fires"]


@pytest.mark.parametrize(
    ("when", "expected"),
    [
        ({"fact": "mnth", "in": [1]}, "rule[2].when.fact: 'mnth' is not known; did you mean 'month'?"),
        ({"fact": "month", "in": [13]}, "rule[2].when.in: expected a whole number from 1 to 12, found 13"),
        ({"fact": "month", "in": []}, "rule[2].when.in: expected a list with at least one entry, found []"),
        ({"fact": "month", "is": 1}, "rule[2].when.is: month is a month; expected one of: in"),
        ({"fact": "start", "before": "9"}, "rule[2].when.before: expected a time as \"HH:MM\", found '9'"),
        ({"fact": "start", "before": "24:00"}, "rule[2].when.before: expected a time as \"HH:MM\", found '24:00'"),
        ({"fact": "coverage", "at_least": "bad"}, "rule[2].when.at_least: expected one of good, none, found 'bad'"),
        ({"fact": "coverage", "in": ["good"]}, "rule[2].when.in: coverage is a scale; expected one of: at_least"),
        ({"fact": "minutes", "at_least": 61}, "rule[2].when.at_least: expected a whole number from 0 to 60, found 61"),
        (
            {"fact": "minutes", "at_most": 5},
            "rule[2].when.at_most: minutes may be tested towards its dangerous side only, which is 'higher'",
        ),
        (
            {"fact": "first_aider", "is": True},
            "rule[2].when.is: first_aider may be tested towards its dangerous side only, which is 'false'",
        ),
        ({"fact": "first_aider", "is": 0}, "rule[2].when.is: expected true or false, found 0"),
        (
            {"fact": "deadly", "at_least": 0},
            "rule[2].when.at_least: expected a number from 1 to the number of its words, found 0",
        ),
        ({"fact": "deadly"}, "rule[2].when.fact: deadly is a set; expected one of: in, at_least"),
        ({"fact": "deadly", "at_least": 1, "in": ["x"]}, "rule[2].when.at_least, in: deadly is a set; expected one of"),
        ({"any": []}, "rule[2].when.any: expected at least one table"),
        ({"all": [{"fact": "mnth", "in": [1]}]}, "rule[2].when.all[1].fact: 'mnth' is not known"),
        ({"all": [{"fact": "deadly", "at_least": 1}], "not": 1}, "rule[2].when.not: this key is not known here"),
    ],
)
def test_a_predicate_that_makes_no_sense_is_refused_with_file_key_and_expectation(when, expected):
    problems = refused(with_rule(when))
    assert len(problems) == 1
    assert problems[0].startswith(f"ours.toml, {expected}")


def changed(path: str, value: object) -> dict[str, Any]:
    """The small library with the value at a dotted path replaced, None meaning removed."""
    content = small()
    *parents, last = path.split(".")
    place: Any = content
    for part in parents:
        place = place[int(part)] if part.isdigit() else place[part]
    if value is None:
        del place[last]
    else:
        place[last] = value
    return content


@pytest.mark.parametrize(
    ("path", "value", "expected"),
    [
        (
            "hazard.0.after",
            {"likelihood": 4, "severity": 5},
            "hazard[1].after: expected no rating higher than in 'before'",
        ),
        ("hazard.0.before", {"likelihood": 6, "severity": 5}, "hazard[1].before.likelihood: expected a whole number"),
        (
            "hazard.0.before",
            {"likelihood": True, "severity": 5},
            "hazard[1].before.likelihood: expected a whole number",
        ),
        ("hazard.0.before", None, "hazard[1].before: expected a table, found nothing"),
        ("hazard.0.controls", [], "hazard[1].controls: expected at least one text"),
        (
            "hazard.0.controls",
            ["Look.", "Look."],
            "hazard[1].controls: expected a list of texts, none blank, none twice",
        ),
        ("hazard.0.controls", "Look.", "hazard[1].controls: expected a list of texts, found 'Look.'"),
        ("hazard.0.sources", [], "hazard[1].sources: expected at least one text"),
        ("hazard.0.sources", ["theirs"], "hazard[1].sources: 'theirs' is not known; allowed are ours"),
        (
            "hazard.0.further",
            [{"action": "Read.", "owner": "gide"}],
            "further[1].owner: 'gide' is not known; did you mean",
        ),
        ("hazard.0.who", "  ", "hazard[1].who: expected a text that is not blank"),
        ("hazard.0.contrls", ["x"], "hazard[1].contrls: this key is not known here"),
        ("rule.0.hazard", "posion", "rule[1].hazard: 'posion' is not known; did you mean 'poison'?"),
        (
            "rule.0.after",
            {"likelihood": 4, "severity": 5},
            "rule[1].after: expected no rating higher than in 'before' of",
        ),
        ("rule.0.when", None, "rule[1].when: expected a table, found nothing"),
        ("fact.2.words", None, "fact[3].words: expected a list of texts, found nothing"),
        ("fact.3.worse", "more", "fact[4].worse: 'more' is not known; allowed are higher, lower"),
        ("fact.5.words", ["x"], "fact[6].words: expected either a list of words or open = true"),
        ("fact.5.open", False, "fact[6].words: expected either a list of words or open = true"),
        ("fact.0.kind", "moth", "fact[1].kind: 'moth' is not known; did you mean 'month'?"),
        ("fact.1.key", "month", "fact[2].key: 'month' is there already"),
        ("source.0.seen", True, "source[1].read: expected the day on which it was seen"),
        ("step.0.source", "theirs", "step[1].source: 'theirs' is not known"),
        ("version", None, "version, step: expected a version and the steps of an assessment"),
        ("hazrd", [], "hazrd: this key is not known here"),
    ],
)
def test_a_library_that_cannot_be_trusted_is_refused(path, value, expected):
    assert any(expected in problem for problem in refused(changed(path, value)))


def test_unknown_counts_where_names_a_fact():
    [problem] = refused(changed("fact.4.unknown_counts_where", {"fact": "covrage", "in": ["x"]}))
    assert problem == "library, fact first_aider: 'covrage' is not known; did you mean 'coverage'?"


def test_every_problem_of_every_file_is_named_at_once():
    files = copy.deepcopy(FILES)
    files["weather_and_people.toml"]["hazard"][0]["who"] = ""
    files["eating_and_touching.toml"]["rule"][0]["hazard"] = "deadly_specie"
    with pytest.raises(TablesRefused) as refusal:
        library_from(files)
    assert {problem.file for problem in refusal.value.problems} == {
        "weather_and_people.toml",
        "eating_and_touching.toml",
    }


@pytest.mark.parametrize(
    ("facts", "expected"),
    [
        ({"minutess": 5}, "facts, minutess: this fact is not known; did you mean 'minutes'?"),
        ({"minutes": 61}, "facts, minutes: expected a whole number from 0 to 60, found 61"),
        ({"minutes": True}, "facts, minutes: expected a whole number from 0 to 60, found True"),
        ({"first_aider": "yes"}, "facts, first_aider: expected true or false, found 'yes'"),
        ({"coverage": 3}, "facts, coverage: expected one of good, none, found 3"),
        ({"deadly": "amanita-phalloides"}, "facts, deadly: expected a list of words, found 'amanita-phalloides'"),
        ({"month": 0}, "facts, month: expected a whole number from 1 to 12, found 0"),
        ({"start": 2866}, "facts, start: expected a whole number from 0 to 2865, found 2866"),
    ],
)
def test_a_fact_that_does_not_fit_is_refused(facts, expected):
    with pytest.raises(TablesRefused) as refusal:
        keep_facts(library_from({"ours.toml": small()}).facts, facts)
    assert str(refusal.value) == expected


@pytest.mark.parametrize(("minute", "kept"), [(600, 600), (614, 600), (615, 615), (629, 615)])
def test_a_start_is_kept_as_the_quarter_before(minute, kept):
    assert LIBRARY.facts["start_minute"].kept(minute) == kept


@pytest.mark.parametrize(("minute", "kept"), [(600, 600), (601, 615), (615, 615), (616, 630)])
def test_an_end_is_kept_as_the_quarter_after(minute, kept):
    assert LIBRARY.facts["end_minute"].kept(minute) == kept
