"""The limits as a phone counts them without signal, against the pure computation, for random walks and parties."""

from __future__ import annotations

import random
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser

from walks.compute.age_bands import RatioPolicy, policy_from_toml
from walks.compute.frozen_limits import band_number, frozen_limits
from walks.compute.head_count import PartyAges, Person
from walks.compute.limits import Cap, StaffMember
from walks.compute.ratios import can_take, ratio_statement
from walks.policies import default_ratios

pytestmark = pytest.mark.browser
SCRIPT = Path(__file__).parents[2] / "foraywright/static/js/register_limits.js"
RUNS = 400
COUNT = """(cases) => cases.map(({ frozen, people, party }) => {
  const { lines, refusals, lost } = registerLimits.statement(frozen, people);
  const worst = lost && { guide: lost.guide, lines: lost.lines, refusals: lost.refusals };
  return { lines, refusals, lost: worst, fits: registerLimits.wouldFit(frozen, people, party) };
})"""


def a_party(chance: random.Random) -> PartyAges:
    """One to nine people; some children are in the charge of somebody of the party, who need be no adult."""
    if chance.random() < 0.3:
        return a_large_family(chance)
    size = chance.choice([1, 2, 2, 3, 4, 5, 9])
    ages = [chance.choice([*range(18), None, 18, 40, 40, 40, 40, 70]) for _ in range(size)]
    return PartyAges(tuple(Person(age, chance.choice([None, *range(size)])) for age in ages))


def a_large_family(chance: random.Random) -> PartyAges:
    """One adult with more children than one adult may look after."""
    children = tuple(Person(chance.randrange(18), 0) for _ in range(chance.randint(3, 12)))
    return PartyAges((Person(40), *children))


def some_staff(chance: random.Random) -> list[StaffMember]:
    def one(number: int) -> StaffMember:
        role = chance.choice(["guide", "guide", "helper"])
        largest, sure = chance.choice([None, 4, 8, 12]), chance.random
        return StaffMember(f"Guide {number}", role, sure() < 0.9, sure() < 0.7, largest, sure() < 0.8)  # type: ignore[arg-type]

    return [one(number) for number in range(chance.randint(0, 4))]


def some_caps(chance: random.Random) -> list[Cap]:
    counts = ["participants", "everybody"]
    return [
        Cap(f"cap-{n}", f"Cap {n}", chance.choice(counts), chance.randint(1, 40), "s", "v")  # type: ignore[arg-type]
        for n in range(chance.randint(1, 3))
    ]


def on_the_phone(policy: RatioPolicy, parties: list[PartyAges], first: str = "") -> list[dict[str, Any]]:
    return [
        {
            "id": f"{first}{number}-{place}",
            "number": band_number(policy, one.age),
            "guardian": "" if one.guardian is None else f"{first}{number}-{one.guardian}",
        }
        for number, party in enumerate(parties)
        for place, one in enumerate(party.people)
    ]


def a_case(policy: RatioPolicy, chance: random.Random) -> tuple[dict[str, Any], dict[str, Any]]:
    """What the phone is given, and what the server's own computation says of it."""
    caps, staff = some_caps(chance), some_staff(chance)
    parties, newcomer = [a_party(chance) for _ in range(chance.randint(0, 6))], a_party(chance)
    statement = ratio_statement(policy, caps, staff, parties)
    lost = statement.one_guide_missing
    said = {
        "lines": [line.sentence for line in statement.lines],
        "refusals": list(statement.refusals),
        "lost": lost
        and {
            "guide": lost.guide,
            "lines": [line.sentence for line in lost.statement.lines],
            "refusals": list(lost.statement.refusals),
        },
        "fits": can_take(policy, caps, staff, parties, newcomer).would_fit,
    }
    given = {
        "frozen": frozen_limits(policy, caps, staff),
        "people": on_the_phone(policy, parties),
        "party": on_the_phone(policy, [newcomer], "new-"),
    }
    return given, said


def test_the_phone_says_what_the_server_says(browser: Browser) -> None:
    policy = policy_from_toml(default_ratios())
    cases = [a_case(policy, random.Random(seed)) for seed in range(RUNS)]
    with browser.new_context() as context:
        page = context.new_page()
        page.add_script_tag(path=SCRIPT)
        counted = page.evaluate(COUNT, [given for given, _ in cases])
    wrong = [seed for seed, (_, said) in enumerate(cases) if counted[seed] != said]
    assert wrong == []
    assert sum(bool(said["refusals"]) for _, said in cases) > RUNS / 4
    assert sum(said["fits"] > 0 for _, said in cases) > RUNS / 10
