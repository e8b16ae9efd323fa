"""Ages on a day, the default table of adults to children, and the tables that are refused."""

import tomllib
from copy import deepcopy
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from walks.compute.age_bands import (
    PolicyError,
    adults_for_group,
    adults_needed,
    age_on,
    is_adult,
    policy_from_toml,
)

TABLE = tomllib.loads((Path(__file__).parents[3] / "walks" / "policies" / "ratios.toml").read_text(encoding="utf-8"))
POLICY = policy_from_toml(TABLE)


@pytest.mark.parametrize(
    ("born", "day", "age"),
    [
        (date(2015, 6, 12), date(2027, 6, 11), 11),
        (date(2015, 6, 12), date(2027, 6, 12), 12),
        (date(2009, 10, 31), date(2027, 10, 30), 17),
        (date(2009, 10, 31), date(2027, 10, 31), 18),
        (date(2012, 2, 29), date(2027, 2, 28), 14),
        (date(2012, 2, 29), date(2027, 3, 1), 15),
        (date(2012, 2, 29), date(2028, 2, 28), 15),
        (date(2012, 2, 29), date(2028, 2, 29), 16),
        (date(2027, 5, 1), date(2027, 5, 1), 0),
    ],
)
def test_the_age_on_a_day(born: date, day: date, age: int) -> None:
    assert age_on(born, day) == age


def test_nobody_has_an_age_before_birth() -> None:
    with pytest.raises(ValueError, match="2027-05-01 is before the date of birth 2027-05-02"):
        age_on(date(2027, 5, 2), date(2027, 5, 1))


@pytest.mark.parametrize(("age", "adult"), [(17, False), (18, True), (None, False)])
def test_an_adult_is_18_and_known_to_be(age: int | None, adult: bool) -> None:
    assert is_adult(age) is adult


def test_the_default_policy_is_the_table_with_our_figure_for_guides() -> None:
    rows = [(band.from_age, band.to_age, band.children_per_adult) for band in POLICY.bands]

    assert rows == [(0, 1, 3), (2, 3, 4), (4, 8, 6), (9, 12, 8), (13, 17, 10)]
    assert (POLICY.adults_with_any_child, POLICY.participants_per_guide) == (2, 12)
    assert POLICY.source.endswith("read 2026-11-25")


def test_an_unknown_age_falls_in_the_strictest_band() -> None:
    assert POLICY.bands[POLICY.band_number(None)].children_per_adult == min(b.children_per_adult for b in POLICY.bands)


def test_an_adults_age_has_no_band() -> None:
    with pytest.raises(ValueError, match="18 is no child's age"):
        POLICY.band_number(18)


def test_the_worked_example_of_mixed_ages_needs_six_adults() -> None:
    ages = [3] * 3 + [6] * 7 + [10] * 9 + [14] * 4

    assert adults_needed(POLICY, (0, 3, 7, 9, 4)) == 1 + 2 + 2 + 1
    assert adults_for_group(POLICY, ages) == 6


@pytest.mark.parametrize(("children", "adults"), [(0, 0), (1, 2), (8, 2), (9, 2), (16, 2), (17, 3), (24, 3), (25, 4)])
def test_exact_multiples_need_no_further_adult_and_the_floor_is_two(children: int, adults: int) -> None:
    assert adults_for_group(POLICY, [10] * children) == adults


def test_grown_people_need_nobody() -> None:
    assert adults_for_group(POLICY, [18, 40]) == 0


def _changed(**changes: Any) -> dict[str, Any]:
    return deepcopy(TABLE) | changes


def _with_band(number: int, **changes: Any) -> dict[str, Any]:
    table = deepcopy(TABLE)
    table["bands"][number] |= changes
    return table


FAULTS = {
    "a word too many": (_changed(colour="green"), "Unknown word in the policy: colour."),
    "a word too few": ({k: v for k, v in TABLE.items() if k != "version"}, "Missing word in the policy: version."),
    "an unknown word in a band": (_with_band(0, adults=1), "Unknown word in a band: adults."),
    "a gap": (_with_band(1, from_age=3), "The band 2 to 3 must begin at 2 years and not end before it begins."),
    "an overlap": (_with_band(1, from_age=1), "The band 2 to 3 must begin at 2 years and not end before it begins."),
    "a band that ends before it begins": (
        _with_band(1, to_age=1),
        "The band 2 to 3 must begin at 2 years and not end before it begins.",
    ),
    "an end too early": (_with_band(4, to_age=16), "The bands cover 0 to 16 years; they must cover 0 to 17."),
    "an end too late": (_with_band(4, to_age=18), "The bands cover 0 to 18 years; they must cover 0 to 17."),
    "older children stricter": (
        _with_band(1, children_per_adult=2),
        "The band 2 to 3 must allow at least 3 to an adult, as the one before it.",
    ),
    "no child to an adult": (
        _with_band(0, children_per_adult=0),
        "The band under 2 must allow at least 1 to an adult, as the one before it.",
    ),
    "one key twice": (_with_band(1, key="under-2"), "Two bands have the same key."),
    "no participants": (
        _changed(participants_per_guide=0),
        "Participants per guide and adults with any child must each be at least 1.",
    ),
    "no adults": (
        _changed(adults_with_any_child=0),
        "Participants per guide and adults with any child must each be at least 1.",
    ),
}


@pytest.mark.parametrize(("table", "sentence"), FAULTS.values(), ids=FAULTS)
def test_a_broken_table_is_refused_with_its_reason(table: dict[str, Any], sentence: str) -> None:
    with pytest.raises(PolicyError) as refused:
        policy_from_toml(table)

    assert str(refused.value) == sentence
