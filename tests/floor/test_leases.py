"""Rows for the worker: claimed once, claimable again when the lease is over, given up after the last try."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from functools import partial

import pytest

from curriculum.models import Document
from foraywright.floor.leases import LEASE, RETRY_AFTER, claim, finish, give_up, put_off
from tests.bookings.race import together
from tests.conftest import NOW

pytestmark = [pytest.mark.database, pytest.mark.django_db]
SECOND = timedelta(seconds=1)


def row(number: int = 1, **changes: object) -> Document:
    values = {"kind": "sheet", "subject_id": "x", "manifest": {}, "manifest_hash": f"{number:064}", "wanted_at": NOW}
    return Document.objects.create(**(values | {"due_at": NOW} | changes))


def test_is_due_from_its_instant_on() -> None:
    one = row()
    assert claim(Document, now=NOW - SECOND) is None
    claimed = claim(Document, now=NOW)
    assert claimed == one
    assert claimed is not None
    assert (claimed.attempts, claimed.lease_until) == (1, NOW + LEASE)


def test_is_claimed_once_until_the_lease_is_over() -> None:
    one = row()
    assert claim(Document, now=NOW) == one
    assert claim(Document, now=NOW + LEASE - SECOND) is None
    again = claim(Document, now=NOW + LEASE)
    assert again == one
    assert again is not None
    assert again.attempts == 2


def test_the_longest_waiting_comes_first() -> None:
    late, early = row(1, due_at=NOW), row(2, due_at=NOW - SECOND)
    assert [claim(Document, now=NOW), claim(Document, now=NOW)] == [early, late]


def test_what_is_done_is_never_claimed_again() -> None:
    row()
    claimed = claim(Document, now=NOW)
    assert claimed is not None
    finish(claimed, now=NOW)
    assert claim(Document, now=NOW + timedelta(days=9)) is None
    assert Document.objects.values_list("done_at", "lease_until", "last_error").get() == (NOW, None, "")


def test_is_put_off_longer_each_time_and_then_given_up() -> None:
    row()
    now = NOW
    for wait in RETRY_AFTER:
        claimed = claim(Document, now=now)
        assert claimed is not None
        put_off(claimed, "x" * 400, now=now)
        assert claim(Document, now=now + 0.8 * wait - SECOND) is None
        now += wait
    last = claim(Document, now=now)
    assert last is not None
    assert last.attempts == len(RETRY_AFTER) + 1 == 6
    put_off(last, "the last word", now=now)
    assert claim(Document, now=now + timedelta(days=9)) is None
    assert Document.objects.values_list("given_up_at", "last_error").get() == (now, "the last word")


@pytest.mark.django_db(transaction=True)
def test_eight_workers_claim_eight_rows_once_each() -> None:
    keys = {row(number).pk for number in range(8)}
    outcomes = together([partial(_claimed, 3)] * 6)
    assert {one.kind for one in outcomes} == {"done"}
    claimed = [int(key) for one in outcomes for key in one.words.split()]
    assert sorted(claimed) == sorted(keys)


def _claimed(number: int) -> str:
    rows = [claim(Document, now=NOW) for _ in range(number)]
    return " ".join(str(one.pk) for one in rows if one)


@pytest.mark.parametrize("fail", [partial(put_off, error="slow"), partial(give_up, why="slow")])
def test_whoever_lost_the_lease_does_not_end_that_of_the_next(fail: Callable[..., None]) -> None:
    row()
    slow, then = claim(Document, now=NOW), NOW + LEASE
    assert slow is not None
    quick = claim(Document, now=then)
    assert quick is not None
    fail(slow, now=then + SECOND)
    assert claim(Document, now=then + LEASE - SECOND) is None, "the second worker has it in hand"
    finish(quick, now=then + LEASE)
    fail(slow, now=then + LEASE)
    assert Document.objects.values_list("done_at", "given_up_at", "last_error").get() == (then + LEASE, None, "")
