"""What a walk has to expect: chances of the taught taxa, and dangers that nothing silences."""

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from curriculum.compute.account import Season
from curriculum.compute.expected import Ground, expectation
from curriculum.compute.phenology import FindList
from tests.curriculum.compute.files import vocabulary
from tests.curriculum.compute.taxa import states, taxon

OCTOBER = date(2026, 10, 10)
WOOD = Ground(frozenset({"broadleaved_wood"}), frozenset({"beech"}))
AUTUMN = Season((9, 10, 11), (10,))


def expect(*accounts, day=OCTOBER, ground=WOOD, wanted=(), lists=()):
    return expectation(accounts, day=day, ground=ground, wanted=wanted, vocabulary=vocabulary(), lists=lists)


def in_wood(name, **given):
    return taxon(name, habitat=states("broadleaved_wood"), **{"season": AUTUMN, **given})


def test_each_taught_taxon_has_its_chance_and_they_add_up():
    one, other = in_wood("one"), in_wood("other", season=Season((10,)))

    found = expect(one, other, wanted=["other"])

    assert [(each.account.taxon, each.wanted) for each in found.taught] == [("other", True), ("one", False)]
    assert found.number == pytest.approx(sum(each.chance.mean for each in found.taught))
    assert found.taught[1].chance.mean > found.taught[0].chance.mean > 0


@pytest.mark.parametrize(
    ("ground", "factor"),
    [
        (WOOD, 1),
        (Ground(frozenset({"broadleaved_wood"}), frozenset()), 0.5),
        (Ground(frozenset(), frozenset({"beech"})), 0.5),
        (Ground(frozenset(), frozenset()), 0.25),
    ],
)
def test_ground_that_is_not_known_halves_the_chance(ground, factor):
    beech_only = in_wood("one", host=states("beech"))

    [here], [there] = expect(beech_only).taught, expect(beech_only, ground=ground).taught

    assert there.chance.mean == pytest.approx(factor * here.chance.mean)


def test_where_an_account_names_no_host_the_trees_play_no_part():
    no_trees = Ground(WOOD.habitats, frozenset())

    assert expect(in_wood("one"), ground=no_trees).taught == expect(in_wood("one")).taught


def test_finds_move_the_chance_and_not_what_is_named():
    seen = [FindList(OCTOBER, frozenset(), complete=True)] * 200

    [before], [after] = expect(in_wood("one")).taught, expect(in_wood("one"), lists=seen).taught

    assert after.chance.mean < 0.05 < before.chance.mean


@settings(max_examples=60, deadline=None)
@given(
    months=st.sets(st.integers(1, 12), max_size=6),
    day=st.dates(date(2026, 1, 1), date(2027, 12, 31)),
    walks=st.lists(st.dates(date(2024, 1, 1), date(2026, 1, 1)), max_size=20),
    edibility=st.sampled_from(["poisonous", "deadly"]),
    role=st.sampled_from(["taught", "danger", "lookalike"]),
)
def test_danger_is_named_on_every_day_of_its_months_and_half_a_month_around_them(months, day, walks, edibility, role):
    feared = in_wood("one", edibility=edibility, role=role, season=Season(tuple(sorted(months))))
    empty = [FindList(one, frozenset(), complete=True) for one in walks]
    around = {(day + timedelta(days=off)).month for off in (-14, 0, 14)}

    named = feared in expect(feared, day=day, lists=empty).dangers

    assert named or (months and not months & around)


@pytest.mark.parametrize("ground", [WOOD, Ground(frozenset(), frozenset()), Ground(WOOD.habitats, frozenset({"pine"}))])
def test_danger_is_named_wherever_the_habitat_fits_or_is_not_known_whatever_the_trees(ground):
    feared = in_wood("one", edibility="deadly", role="danger", host=states("beech"))
    anywhere = taxon("two", edibility="deadly", role="danger", season=AUTUMN)

    assert list(expect(feared, anywhere, ground=ground).dangers) == [feared, anywhere]


def test_own_finds_never_lower_the_chance_of_a_dangerous_taught_taxon():
    feared = in_wood("one", edibility="poisonous")
    empty = [FindList(OCTOBER, frozenset(), complete=True)] * 50
    found = [FindList(OCTOBER, frozenset({"one"}), complete=False)]

    chances = [expect(feared, lists=lists).taught[0].chance.mean for lists in ((), empty, [*empty, *found])]

    assert chances[0] == chances[1] < chances[2]
