"""What a sheet prints of a pair."""

from itertools import islice

import pytest

from curriculum.compute.apart import SHORT, apart
from curriculum.compute.separation import Verdict
from tests.curriculum.compute.files import accounts, vocabulary

NAMED = [(account, one) for account in accounts().values() for one in account.lookalikes if one.taxon in accounts()]


@pytest.mark.parametrize(("account", "one"), list(islice(NAMED, 0, None, 5)), ids=lambda part: part.taxon)
def test_the_core_of_a_settled_pair_is_two_independent_rows(account, one):
    """Large print leaves the other rows out: what stays must bear the verdict."""
    found = apart(account, accounts()[one.taxon], one.separators, vocabulary())
    groups = {row.evidence for row in found.core}
    assert len(groups) == len(found.core) <= 2
    assert all(row.is_both_ways for row in found.core)
    if found.short == SHORT[Verdict.SETTLED]:
        assert len(groups) == 2


def test_the_core_leaves_out_a_second_reading_of_the_same_evidence():
    webcap, chanterelle = accounts()["cortinarius-rubellus"], accounts()["craterellus-tubaeformis"]
    written = next(one for one in chanterelle.lookalikes if one.taxon == webcap.taxon).separators
    found = apart(chanterelle, webcap, written, vocabulary())
    both_ways = [row for row in found.rows if row.is_both_ways]
    assert len(both_ways) > len(found.core)
    assert set(found.core) < set(both_ways)
