"""What holds for every account that is shipped: caution that no later edit may lose in silence."""

import pytest

from curriculum.compute.account import Account, Interval
from tests.curriculum.compute.files import accounts, vocabulary

ALL = list(accounts().values())
TAUGHT = [one for one in ALL if one.role == "taught"]
SAFETY = [key for key, one in vocabulary().terms["fact_group"].items() if one.safety]


def worst(account: Account) -> int:
    """The rank of the worst lookalike, read from its own account or, without one, from what is feared."""
    scale = vocabulary().terms["edibility"]
    named = [accounts()[one.taxon].edibility if one.taxon else one.feared for one in account.lookalikes]
    return max(scale[verdict].rank for verdict in named)


@pytest.mark.parametrize("account", TAUGHT, ids=lambda one: one.taxon)
def test_what_is_taught_has_a_condition_a_lookalike_and_a_source_for_each_safety_group(account: Account):
    assert account.caveats
    assert account.lookalikes
    needed = [key for key in SAFETY if key != "toxicology" or account.toxicology]
    assert [key for key in needed if not account.cited.get(key)] == []


@pytest.mark.parametrize("account", TAUGHT, ids=lambda one: one.taxon)
def test_nothing_with_gills_and_a_deadly_lookalike_is_for_beginners(account: Account):
    gilled = "gills" in account.states("underside")
    deadly = worst(account) >= vocabulary().terms["edibility"]["deadly"].rank
    assert not (gilled and deadly and account.tier == "beginner")


@pytest.mark.parametrize("account", ALL, ids=lambda one: one.taxon)
def test_what_harms_says_when_it_begins_or_that_nobody_knows(account: Account):
    if vocabulary().terms["edibility"][account.edibility].danger:
        assert account.role == "danger"
        assert account.toxicology
        assert account.toxicology.symptoms


@pytest.mark.parametrize("account", ALL, ids=lambda one: one.taxon)
def test_every_source_is_cited_and_every_group_is_cited_or_from_memory(account: Account):
    cited = {citation.source for group in account.cited.values() for citation in group}
    assert {source.key for source in account.sources} == cited
    said = {"names", "edibility", "caveats", "season", "habitat", "characters", "separators"}
    assert said <= set(account.cited) | set(account.memory)


@pytest.mark.parametrize("account", ALL, ids=lambda one: one.taxon)
def test_a_dangerous_lookalike_names_the_food_in_turn(account: Account):
    for named in account.lookalikes:
        other = accounts().get(named.taxon or "")
        if other and vocabulary().terms["edibility"][other.edibility].danger:
            assert account.taxon in {one.taxon for one in other.lookalikes}, other.taxon


@pytest.mark.parametrize(
    ("taxon", "low", "high"),
    [
        ("amanita-phalloides", 4, 36),
        ("galerina-marginata", 4, 36),
        ("cortinarius-rubellus", 4, 504),
        ("omphalotus-illudens", 0.25, 4),
        ("pleurocybella-porrigens", 24, 744),
        ("colchicum-autumnale", 2, 12),
    ],
)
def test_the_widest_published_hours_of_onset_are_kept(taxon: str, low: float, high: float):
    toxicology = accounts()[taxon].toxicology
    assert toxicology
    assert toxicology.onset_hours == Interval(low, high)
