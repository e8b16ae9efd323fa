"""The reader of published figures refuses whatever it does not understand, and never counts what did not run."""

from datetime import time
from pathlib import Path

import pytest

from tests.published.loader import PublishedError, distance, load
from tests.published.registry import Computation
from tests.published.summary import summary_lines

COMPUTATIONS = {"double": Computation(lambda number: 2 * number, "metres")}

IN_ORDER = """
title = "A table of doubles"
locator = "page 1"
date_read = 2026-11-25
seen = true

[tolerance.double]
amount = 0.5
unit = "metres"

[[case]]
name = "two"
computes = "double"
given = { number = 2 }
expected = 4
"""

FAULTS = {
    "a misspelt word of the source": ('locator = "page 1"', 'locater = "page 1"', "unknown word locater"),
    "a missing word of the source": ('title = "A table of doubles"', "", "missing word title"),
    "a misspelt word of a case": ("expected = 4", "expcted = 4", "unknown word expcted"),
    "a missing word of a case": ("expected = 4", "", "missing word expected"),
    "a misspelt input": ("{ number = 2 }", "{ numbr = 2 }", "unknown word numbr"),
    "a missing input": ("{ number = 2 }", "{}", "missing word number"),
    "an unknown computation": ('computes = "double"', 'computes = "treble"', "no computation is called treble"),
    "a tolerance in another unit": ('unit = "metres"', 'unit = "feet"', "comes in metres, its tolerance in feet"),
    "a negative tolerance": ("amount = 0.5", "amount = -0.5", "is no amount"),
    "a tolerance in words": ("amount = 0.5", 'amount = "some"', "is no amount"),
    "a tolerance of an unknown computation": ("[tolerance.double]", "[tolerance.treble]", "is called treble"),
    "no tolerance": ('[tolerance.double]\namount = 0.5\nunit = "metres"', "", "no tolerance is stated for double"),
    "nothing expected": ("expected = 4", "expected = {}", "cannot fail"),
    "seen without a day": ("date_read = 2026-11-25", "", "a source that was seen has a date_read"),
    "from memory with a day": ("seen = true", "seen = false", "one from memory has none"),
    "seen as a word": ("seen = true", 'seen = "yes"', "seen is true or false"),
    "no entries": (IN_ORDER[IN_ORDER.index("[tolerance") :], "", "no case and no refusal"),
    "broken TOML": ('title = "', "title = ", "Invalid value"),
}


def _write(folder: Path, text: str) -> Path:
    path = folder / "doubles.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_a_file_in_order_is_read(tmp_path: Path) -> None:
    source = load(_write(tmp_path, IN_ORDER), COMPUTATIONS)

    case = source.cases[0]
    assert (source.name, case.name, case.tolerance, case.seen) == ("doubles", "two", 0.5, True)


@pytest.mark.parametrize(("old", "new", "sentence"), FAULTS.values(), ids=FAULTS)
def test_a_fault_is_refused_and_named(tmp_path: Path, old: str, new: str, sentence: str) -> None:
    assert old in IN_ORDER

    with pytest.raises(PublishedError, match=sentence) as refused:
        load(_write(tmp_path, IN_ORDER.replace(old, new)), COMPUTATIONS)

    assert str(refused.value).startswith("doubles.toml")


def test_a_name_used_twice_is_refused(tmp_path: Path) -> None:
    twice = IN_ORDER + IN_ORDER[IN_ORDER.index("[[case]]") :]

    with pytest.raises(PublishedError, match="the name two is used twice"):
        load(_write(tmp_path, twice), COMPUTATIONS)


def test_a_tolerance_that_serves_no_case_is_refused(tmp_path: Path) -> None:
    only_refusal = IN_ORDER.replace("[[case]]", "[[refusal]]").replace("expected = 4", 'sentence = "No."')

    with pytest.raises(PublishedError, match="the tolerance of double serves no case"):
        load(_write(tmp_path, only_refusal), COMPUTATIONS)


def test_a_source_from_memory_cannot_hold_a_figure_that_was_seen(tmp_path: Path) -> None:
    recalled = IN_ORDER.replace("seen = true", "seen = false").replace("date_read = 2026-11-25", "") + "seen = true"

    with pytest.raises(PublishedError, match="never true in a source from memory"):
        load(_write(tmp_path, recalled), COMPUTATIONS)


@pytest.mark.parametrize(
    ("expected", "got", "off"),
    [
        (4, 4.5, 0.5),
        ([1.0, 2.0], (1.5, 2.25), 0.5),
        ([1.0], [1.0, 2.0], float("inf")),
        (time(6, 30), time(6, 31, 30), 1.5),
        (time(6, 30), "none", float("inf")),
        ("TG 51", "TG 51", 0.0),
        ("TG 51", "TG 52", float("inf")),
        (1, True, float("inf")),
        ({"sunset": time(16, 0)}, {"sunset": time(16, 2), "sunrise": time(8, 0)}, 2.0),
        ({"sunset": time(16, 0)}, {}, float("inf")),
    ],
)
def test_the_distance_between_published_and_computed(expected: object, got: object, off: float) -> None:
    assert distance(expected, got) == pytest.approx(off)


def test_the_summary_counts_what_ran() -> None:
    reports = [
        ("passed", {"published": ["a", "case", True]}),
        ("failed", {"published": ["a", "case", False]}),
        ("passed", {"published": ["b", "refusal", True]}),
        ("passed", {}),
    ]

    assert summary_lines(reports) == [
        "Published figures: 2 cases and 1 refusals from 2 sources; 2 seen in the source, 1 from memory; 1 failed."
    ]
    assert summary_lines([("passed", {})]) == []
