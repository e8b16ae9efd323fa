from collections.abc import Callable
from typing import Any

import pytest

from curriculum.compute.account_format import AccountRefused, read_account, unmet_lookalikes
from tests.curriculum.compute.files import STARTER, accounts, document, vocabulary

Spoil = Callable[[dict[str, Any]], object]


def spoilt(spoil: Spoil) -> dict[str, str]:
    """What is said of a spoilt oyster: what was expected, by key."""
    data = document("pleurotus-ostreatus")
    spoil(data)
    with pytest.raises(AccountRefused) as refused:
        read_account(data, "oyster.toml", vocabulary())
    assert {problem.file for problem in refused.value.problems} == {"oyster.toml"}
    return {problem.key: problem.expected for problem in refused.value.problems}


@pytest.mark.parametrize("file", STARTER, ids=lambda file: file.stem)
def test_a_starter_account_is_read_and_named_as_its_file(file):
    assert read_account(file.read_text(encoding="utf-8"), file.name, vocabulary()).taxon == file.stem


def test_the_starter_curriculum_has_food_and_what_it_is_confused_with():
    roles = [one.role for one in accounts().values()]
    assert len(roles) >= 24
    assert roles.count("taught") >= 12


MALFORMED: list[tuple[str, Spoil, str, str]] = [
    ("no format", lambda d: d.pop("format"), "format", "the number 1"),
    ("format of tomorrow", lambda d: d.update(format=2), "format", "the number 1"),
    ("taxon with a space", lambda d: d.update(taxon="Pleurotus ostreatus"), "taxon", "lower-case words"),
    ("no summary", lambda d: d.pop("summary"), "summary", "a text"),
    ("number for text", lambda d: d.update(summary=3), "summary", "a text"),
    ("misspelt key", lambda d: d.update(sumary="x"), "sumary", "perhaps 'summary'"),
    ("unknown group", lambda d: d.update(group="fungi"), "group", "perhaps 'fungus'"),
    ("unknown role", lambda d: d.update(role="eaten"), "role", "taught"),
    ("unknown verdict", lambda d: d.update(edibility="deadley"), "edibility", "perhaps 'deadly'"),
    ("teaching a killer", lambda d: d.update(edibility="deadly"), "role", "danger"),
    (
        "danger in disguise",
        lambda d: d.update(edibility="deadly", role="lookalike", tier=""),
        "edibility",
        "the role danger",
    ),
    ("taught without a tier", lambda d: d.pop("tier"), "tier", "beginner"),
    ("tier for what is not taught", lambda d: d.update(role="lookalike"), "tier", "no tier"),
    ("two accepted names", lambda d: d["name"][1].update(kind="accepted"), "name", "exactly one"),
    ("unknown kind of name", lambda d: d["name"][1].update(kind="common"), "name[2].kind", "vernacular"),
    ("season without months", lambda d: d["season"].pop("months"), "season.months", "months"),
    ("thirteenth month", lambda d: d["season"].update(months=[1, 13]), "season.months", "1 to 12"),
    ("month twice", lambda d: d["season"].update(months=[1, 1]), "season.months", "each once"),
    ("peak out of season", lambda d: d["season"].update(months=[5]), "season.peak", "among months"),
    (
        "unknown character",
        lambda d: d["characters"].update(cap_color="white"),
        "characters.cap_color",
        "perhaps 'cap_colour'",
    ),
    (
        "unknown state",
        lambda d: d["characters"].update(cap_colour=["whit"]),
        "characters.cap_colour",
        "perhaps 'white'",
    ),
    ("state twice", lambda d: d["characters"].update(cap_colour=["grey", "grey"]), "characters.cap_colour", "once"),
    ("empty set of states", lambda d: d["characters"].update(cap_colour=[]), "characters.cap_colour", "unknown"),
    ("character of a plant", lambda d: d["characters"].update(petals="five"), "characters.petals", "one of"),
    ("place among the characters", lambda d: d["characters"].update(host="beech"), "characters.host", "one of"),
    (
        "range upside down",
        lambda d: d["characters"]["mature"].update(cap_width=[200, 40]),
        "characters.mature.cap_width",
        "mm",
    ),
    (
        "range below zero",
        lambda d: d["characters"]["mature"].update(cap_width=[-1, 40]),
        "characters.mature.cap_width",
        "mm",
    ),
    (
        "one number",
        lambda d: d["characters"]["mature"].update(cap_width=40),
        "characters.mature.cap_width",
        "[40, 200]",
    ),
    (
        "truth for a number",
        lambda d: d["characters"]["mature"].update(cap_width=[True, 40]),
        "characters.mature.cap_width",
        "mm",
    ),
    ("unknown stage", lambda d: d["characters"].update(old={}), "characters.old", "one of"),
    ("known and unknown", lambda d: d.update(unknown=["smell"]), "characters.smell", "unknown names smell"),
    (
        "gills where there are pores",
        lambda d: d["characters"].update(underside="pores"),
        "characters.gill_edge",
        "underside",
    ),
    (
        "stem length without a stem",
        lambda d: d["characters"].update(stem="absent"),
        "characters.mature.stem_length",
        "stem",
    ),
    ("table for a list of tables", lambda d: d.update(caveat={"kind": "touch"}), "caveat", "[[caveat]]"),
    (
        "unknown kind of caveat",
        lambda d: d["caveat"][0].update(kind="cook_thru"),
        "caveat[1].kind",
        "perhaps 'cook_through'",
    ),
    ("lookalike that names nothing", lambda d: d["lookalike"][0].pop("taxon"), "lookalike[1].taxon", "group_name"),
    (
        "copied danger",
        lambda d: d["lookalike"][0].update(feared="deadly"),
        "lookalike[1].feared",
        "read from the account",
    ),
    (
        "group without fear",
        lambda d: d["lookalike"][0].update(taxon="", group_name="Fans"),
        "lookalike[1].taxon",
        "feared",
    ),
    (
        "separator by no character",
        lambda d: d["lookalike"][0]["separators"][0].update(character="wood"),
        "lookalike[1].separators[1].character",
        "one of",
    ),
    (
        "citation of no source",
        lambda d: d["cited"]["edibility"][0].update(source="nobody"),
        "cited.edibility[1].source",
        "nsnf",
    ),
    ("unknown fact group", lambda d: d["memory"].update(smells=["x"]), "memory.smells", "one of"),
    ("source key twice", lambda d: d["source"][1].update(key=d["source"][0]["key"]), "source", "of its own"),
    ("seen, perhaps", lambda d: d["source"][0].update(seen="perhaps"), "source[1].seen", "true or false"),
    ("read some day", lambda d: d["source"][0].update(read_on="some day"), "source[1].read_on", "a date"),
    ("season that is a text", lambda d: d.update(season="autumn"), "season", "a table"),
    (
        "onset backwards",
        lambda d: d.update(toxicology=toxicology([9, 2])),
        "toxicology.onset_hours",
        "hours after the meal",
    ),
    ("no onset", lambda d: d.update(toxicology=toxicology(None)), "toxicology.onset_hours", "the word unknown"),
    (
        "unknown syndrome",
        lambda d: d.update(toxicology=toxicology([2, 9], "amatoxins")),
        "toxicology.syndrome",
        "perhaps 'amatoxin'",
    ),
]


def toxicology(onset: object, syndrome: str = "amatoxin") -> dict[str, object]:
    return {"syndrome": syndrome, "toxins": [], "onset_hours": onset, "symptoms": []}


@pytest.mark.parametrize(
    ("spoil", "key", "expected"), [row[1:] for row in MALFORMED], ids=[row[0] for row in MALFORMED]
)
def test_a_malformed_account_is_refused_with_its_key_and_what_was_expected(spoil: Spoil, key: str, expected: str):
    said = spoilt(spoil)
    assert key in said
    assert expected in said[key]


def test_every_fault_is_told_at_once():
    def spoil(data: dict[str, Any]) -> None:
        data.update(group="fungus", edibility="tasty", family=1)
        data["season"]["months"] = [0]
        data["source"][0]["kind"] = "hearsay"

    assert set(spoilt(spoil)) >= {"edibility", "family", "season.months", "source[1].kind"}


def test_a_fault_is_a_sentence_with_file_key_found_and_expected():
    data = document("pleurotus-ostreatus")
    data["characters"]["cap_colour"] = "whit"
    with pytest.raises(AccountRefused) as refused:
        read_account(data, "oyster.toml", vocabulary())
    assert str(refused.value).startswith(
        "oyster.toml: characters.cap_colour: found whit; expected perhaps 'white'; one of: "
    )


def test_a_text_that_is_no_toml_is_refused():
    with pytest.raises(AccountRefused) as refused:
        read_account("taxon = ", "broken.toml", vocabulary())
    assert [problem.expected for problem in refused.value.problems] == ["a TOML document"]


def test_every_lookalike_that_is_named_by_taxon_has_an_account():
    assert unmet_lookalikes(accounts().values()) == ()


def test_a_lookalike_without_its_account_is_told():
    oyster = accounts()["pleurotus-ostreatus"]
    assert [problem.found for problem in unmet_lookalikes([oyster])] == [
        "pleurocybella-porrigens", "sarcomyxa-serotina", "pleurotus-pulmonarius", "crepidotus-mollis",
        "panellus-stipticus", "pleurotus-cornucopiae",
    ]  # fmt: skip
