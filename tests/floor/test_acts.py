"""Acts are durable, never nested, and leave an audit line that nobody changes."""

from __future__ import annotations

import pytest
from django.db import transaction

from bookings.services.cancel_booking import end_booking
from bookings.services.ledger import transfer
from bookings.services.outbox import write_to
from foraywright.floor.acts import act, record, require_act
from foraywright.floor.models import AuditLine, Business, Counter
from foraywright.floor.numbering import bump_feed, give_slug, next_number
from tests.cast import World
from walks.services.call_off import call_off
from walks.services.show_places_taken import show_places_taken

pytestmark = pytest.mark.database


@act
def _count(key: str, *, then: type[Exception] | None = None) -> str:
    Counter.objects.create(key=key)
    if then:
        raise then
    return key


@act
def _outer() -> str:
    return _count("inner")


@pytest.mark.django_db(transaction=True)
def test_what_an_act_wrote_is_kept_and_what_a_fault_left_is_not() -> None:
    assert _count("kept") == "kept"
    with pytest.raises(ZeroDivisionError):
        _count("lost", then=ZeroDivisionError)
    assert list(Counter.objects.values_list("key", flat=True)) == ["kept"]


@pytest.mark.django_db(transaction=True)
def test_an_act_calls_no_act() -> None:
    with pytest.raises(RuntimeError, match="durable atomic block cannot be nested"):
        _outer()
    assert not Counter.objects.exists()


OUTSIDE = r"^This step writes and must run inside an act\.$"


@pytest.mark.django_db(transaction=True)
def test_no_step_runs_outside_an_act(real_world: World) -> None:
    world, now = real_world, real_world.now
    steps = (
        require_act,
        lambda: record("x", world.offering, by="worker", now=now),
        lambda: next_number("x"),
        lambda: give_slug("offering", "x", "y", now=now),
        lambda: bump_feed("walks", now=now),
        lambda: transfer("sale", debit="bank", credit="cash", amount_minor=1, currency="GBP", booking=None, now=now),
        lambda: write_to(None, "confirmation", now=now),
        lambda: end_booking(None, "cancelled", ours=False, now=now),
        lambda: call_off(world.offering, why="x", now=now),
        lambda: show_places_taken(world.walk, 1, now=now),
    )
    for step in steps:
        with pytest.raises(RuntimeError, match=OUTSIDE):
            step()


def test_the_audit_names_the_account_or_the_word_and_the_one_business(world: World) -> None:
    with transaction.atomic():
        record("try", world.offering, by=world.olive, now=world.now, fields=("title",), reason="because")
        record("try", Business.objects.get(), by="worker", now=world.now)
    one, two = AuditLine.objects.filter(act="try").order_by("pk")
    assert (one.actor, one.object_kind, one.object_id) == (world.olive.public_id, "Offering", world.offering.public_id)
    assert (one.fields, one.reason, one.at) == (["title"], "because", world.now)
    assert (two.actor, two.object_kind, two.object_id) == ("worker", "Business", "business")


def test_numbers_count_on_by_key(world: World) -> None:
    with transaction.atomic():
        assert [next_number("a"), next_number("a"), next_number("b"), next_number("a")] == [1, 2, 1, 3]


def test_a_slug_comes_back_to_its_own_object_only(world: World) -> None:
    with transaction.atomic():
        given = [give_slug("offering", "moss", one, now=world.now) for one in ("a", "b", "a", "c", "b")]
        other_kind = give_slug("species", "moss", "d", now=world.now)
    assert given == ["moss", "moss-2", "moss", "moss-3", "moss-2"]
    assert other_kind == "moss"
