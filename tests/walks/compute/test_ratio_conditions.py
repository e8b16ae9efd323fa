"""Ground, hour and activity lower what one guide leads; they never raise it."""

import tomllib
from dataclasses import replace

import pytest

from tests.walks.compute.test_ratios import POLICY, POLICY_FILE, ROSA
from walks.compute.age_bands import policy_from_toml
from walks.compute.ratios import ratio_statement


@pytest.mark.parametrize(
    ("keys", "allows", "source"),
    [
        ((), 12, "our rule"),
        (("walk", "gathering"), 12, "our rule"),
        (("tidal",), 10, "our rule: at most 10 to a guide on tidal ground"),
        (("tidal", "night"), 8, "our rule: at most 8 to a guide in the dark"),
        (("steep",), 8, "our rule: at most 8 to a guide with 300 m of climbing or more"),
        (("cooking_fire",), 8, "our rule: at most 8 to a guide with a cooking fire"),
    ],
)
def test_ground_and_activity_lower_what_one_guide_leads(keys: tuple[str, ...], allows: int, source: str) -> None:
    guides = next(one for one in ratio_statement(POLICY.under(keys), [], [ROSA], []).lines if one.key == "guides")
    assert (guides.allows, guides.source) == (allows, source)


def test_a_condition_never_allows_more_than_the_policy() -> None:
    strict = replace(POLICY, participants_per_guide=6)
    assert strict.under(("night", "tidal")) == strict


def test_a_policy_from_before_conditions_can_still_be_read() -> None:
    table = tomllib.loads(POLICY_FILE.read_text(encoding="utf-8"))
    del table["conditions"]
    assert policy_from_toml(table).under(("night",)).participants_per_guide == 12
