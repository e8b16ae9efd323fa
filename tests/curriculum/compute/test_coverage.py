"""How much of an account is recorded."""

from dataclasses import replace

import pytest

from curriculum.compute.account import INAPPLICABLE, Citation, Source
from curriculum.compute.coverage import coverage
from tests.curriculum.compute.files import accounts, vocabulary
from tests.curriculum.compute.taxa import SOME, some_vocabulary, states, taxon


def figures(account):
    return coverage(account, some_vocabulary())


def filled(count, **given):
    """A taxon of which the first `count` characters of SOME have a value."""
    known = some_vocabulary().characters
    values = {key: states(next(iter(known[key].states), "")) for key in SOME[:count]}
    return taxon("one", **values, **given)


def test_each_character_that_applies_is_coded_named_unknown_or_silent():
    one = replace(taxon("one", cap_colour=states("white"), ring=INAPPLICABLE), unknown=("smell",))

    found = figures(one)

    assert found.coded == ("cap_colour",)
    assert found.named_unknown == ("smell",)
    assert set(found.silent) == set(SOME) - {"cap_colour", "smell", "ring"}
    assert found.applying == len(SOME) - 1
    assert found.share == pytest.approx(1 / (len(SOME) - 1))
    assert found.told == pytest.approx(2 / (len(SOME) - 1))


def test_a_value_of_one_stage_is_coded_although_another_stage_lacks_the_organ():
    one = taxon("one", young={"ring": states("none")})
    later = replace(one, characters={**one.characters, "mature": {"ring": INAPPLICABLE}})

    assert "ring" in figures(later).coded


@pytest.mark.parametrize(
    ("role", "edibility", "count", "short"),
    [
        ("taught", "choice", 17, True),  # 17 of 19 are 89 %
        ("taught", "choice", 18, False),  # 18 of 19 are 95 %
        ("danger", "deadly", 17, True),
        ("danger", "poisonous", 0, False),
        ("lookalike", "inedible", 0, False),
    ],
)
def test_taught_and_deadly_ones_fall_short_below_nine_in_ten(role, edibility, count, short):
    assert len(SOME) == 19

    assert figures(filled(count, role=role, edibility=edibility)).falls_short is short


def test_a_safety_group_without_a_citation_is_named_and_so_is_one_that_nobody_read():
    unread = Source("book", "A book", "book", seen=False)
    bare = taxon("one")
    cited = replace(bare, sources=(unread,), cited={"edibility": (Citation("book"),)})
    read = replace(cited, sources=(replace(unread, seen=True),))

    assert "edibility" in figures(bare).unsourced
    assert "edibility" not in figures(cited).unsourced
    assert figures(cited).not_read == ("edibility",)
    assert figures(read).not_read == ()
    assert "poisoning" not in figures(bare).unsourced  # it has no poisoning to cite


def test_facts_from_memory_are_listed():
    one = replace(taxon("one"), memory={"names": ("The Welsh name.",), "season": ("May.", "June.")})

    assert figures(one).from_memory == ("The Welsh name.", "May.", "June.")


def test_every_shipped_account_cites_each_safety_group():
    assert [one.taxon for one in accounts().values() if coverage(one, vocabulary()).unsourced] == []
