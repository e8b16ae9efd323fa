"""Acts on places that meet, die or fail half way, on real connections: nothing is sold twice, nothing is half done."""

from __future__ import annotations

import os
import random
import signal
import time
from collections import Counter
from collections.abc import Callable
from contextlib import suppress
from datetime import timedelta
from functools import partial
from multiprocessing import get_context

import pytest
from django.db import connection, connections

from bookings.errors import NotBooked
from bookings.models import Booking, CardPayment, GroupQuote, OutboxMessage, Place, Transfer
from bookings.queries import balance, coming_back, due, live_places, statement_of
from bookings.services.book_places import book_places
from bookings.services.call_off_walk import call_off_walk
from bookings.services.cancel_booking import cancel_booking
from bookings.services.change_party import PartyChange, change_party, change_terms
from bookings.services.confirm_hold import confirm_hold
from bookings.services.hold_places import hold_places
from bookings.services.join_waiting_list import join_waiting_list
from bookings.services.lapse_holds import lapse_next_hold
from bookings.services.move_booking import move_booking, move_terms
from bookings.services.note_card_payout import note_card_payout
from bookings.services.note_chargeback import note_chargeback
from bookings.services.offer_places import offer_next_places
from bookings.services.quote_group import accept_quote
from bookings.services.record_payment import record_payment
from bookings.services.settle_chargeback import settle_chargeback
from bookings.services.take_chargeback_back import reopen_chargeback, take_chargeback_back
from bookings.services.take_payout_back import take_payout_back
from foraywright.floor.ids import new_secret
from foraywright.floor.models import AuditLine
from tests.bookings.race import together
from tests.bookings.test_groups import kept_walk, make
from tests.bookings.test_races import kinds
from tests.bookings.test_requoted_groups import again
from tests.cast import WALK_DAY, World
from walks.models import Offering, Walk
from walks.services.publish_walk import publish_walk
from walks.services.schedule_walk import schedule_walk

pytestmark = pytest.mark.database


def another(world: World) -> Offering:
    session = world.session(local_date=WALK_DAY + timedelta(days=7), guides=(world.gwen, world.harry))
    draft = schedule_walk(world.plan(session, title="Another"), by=world.olive, now=world.now)
    return publish_walk(draft, by=world.olive, now=world.now)


def assert_sound() -> None:
    """What holds whatever happened before."""
    for walk in Walk.objects.all():
        now = walk.starts_at - timedelta(days=19)
        assert not statement_of(walk, now=now).refusals
        assert walk.places_taken_shown == live_places(walk, now=now).count()
    for booking in Booking.objects.all():
        seats = booking.places.filter(given_back_at=None).count()
        assert seats == (booking.party.people.count() if booking.state in ("confirmed", "held") else 0)
        sold = _net(booking, "deferred_income") + _net(booking, "vat")
        assert sold == due(booking)
        assert AuditLine.objects.filter(object_id=booking.public_id).exists()


def _net(booking: Booking, account: str) -> int:
    credit = booking.transfers.filter(credit__key=account).values_list("amount_minor", flat=True)
    debit = booking.transfers.filter(debit__key=account).values_list("amount_minor", flat=True)
    return sum(credit) - sum(debit)


def test_sixteen_hold_and_book_the_places_of_six(real_world: World) -> None:
    world = real_world
    acts: list[Callable[[], object]] = [
        partial(book_places if n % 2 else hold_places, world.order(), by="participant", now=world.now)
        for n in range(16)
    ]
    outcomes = together(acts)
    assert kinds(outcomes) == {"done": 6, "refused": 10}
    assert Place.objects.filter(given_back_at=None).count() == 12
    assert_sound()


def test_an_offer_against_a_cancellation_and_sixteen_buyers(real_world: World) -> None:
    world = real_world
    book_places(world.order(*["adult"] * 10), by="participant", now=world.now)
    leaves = book_places(world.order(), by="participant", now=world.now)
    waits = join_waiting_list(world.order(), by="participant", now=world.now)
    acts: list[Callable[[], object]] = [
        partial(book_places, world.order("adult"), by="participant", now=world.now) for _ in range(12)
    ]
    acts += [partial(cancel_booking, leaves, by="participant", now=world.now)]
    acts += [partial(offer_next_places, now=world.now) for _ in range(3)]
    found = kinds(together(acts))
    assert found == {"done": 4, "refused": 12}
    offer_next_places(now=world.now)
    assert Booking.objects.get(pk=waits.pk).state == Booking.State.HELD
    assert OutboxMessage.objects.filter(kind="offer").count() == 1
    assert_sound()


def test_a_payment_against_the_lapse_of_its_hold(real_world: World) -> None:
    world, end = real_world, real_world.now + timedelta(minutes=20)
    bookings = [hold_places(world.order(), by="participant", now=world.now) for _ in range(6)]
    acts: list[Callable[[], object]] = [
        partial(record_payment, one, into="bank", amount_minor=3600, by=world.olive, now=end) for one in bookings
    ]
    acts += [partial(lapse_next_hold, now=end) for _ in range(6)]
    acts += [partial(book_places, world.order(), by="participant", now=end) for _ in range(4)]
    assert kinds(together(acts))["done"] >= 12
    for one in Booking.objects.filter(pk__in=[one.pk for one in bookings]):
        assert balance(one) == 0
        assert coming_back(one) == (0 if one.state == Booking.State.CONFIRMED else 3600)
    assert Place.objects.filter(given_back_at=None).count() <= 12
    assert_sound()


def test_two_parties_change_places_without_waiting_for_each_other(real_world: World) -> None:
    world, other = real_world, another(real_world)
    here = [book_places(world.order(), by="participant", now=world.now) for _ in range(3)]
    there = [book_places(world.order(offering=other), by="participant", now=world.now) for _ in range(3)]
    acts: list[Callable[[], object]] = []
    for one, to in [*((one, other) for one in here), *((one, world.offering) for one in there)]:
        mark = move_terms(one, to, now=world.now).mark
        acts.append(partial(move_booking, one, to, terms=mark, key=new_secret(), by="participant", now=world.now))
    assert kinds(together(acts)) == {"done": 6}
    assert Booking.objects.filter(offering=other).count() == 3
    assert_sound()


def test_a_change_sent_eight_times_at_once_is_done_once(real_world: World) -> None:
    world = real_world
    booking, wanted, key = (
        book_places(world.order(), by="participant", now=world.now),
        PartyChange(add=("adult",)),
        new_secret(),
    )
    mark = change_terms(booking, wanted, now=world.now).mark
    send = partial(change_party, booking, wanted, terms=mark, key=key, by="participant", now=world.now)
    assert kinds(together([send] * 8)) == {"done": 8}
    assert booking.party.people.count() == 3
    assert_sound()


def _act_until_killed(world: World, seed: int) -> None:
    """Book, hold, pay, cancel and offer for ever, as fast as it goes."""
    connections.close_all()
    random.seed(seed)
    while True:
        with suppress(NotBooked):
            booking = random.choice([book_places, hold_places])(world.order(), by="participant", now=world.now)
            record_payment(booking, into="bank", amount_minor=3600, by=world.olive, now=world.now)
            cancel_booking(booking, by="participant", now=world.now)
        with suppress(NotBooked):
            join_waiting_list(world.order(*["adult"] * 12), by="participant", now=world.now)
        offer_next_places(now=world.now)


def killed_in_the_middle(world: World, times: int) -> None:
    connections.close_all()
    for seed in range(times):
        children = [get_context("fork").Process(target=_act_until_killed, args=(world, seed * 2 + n)) for n in range(2)]
        for child in children:
            child.start()
        time.sleep(random.Random(seed).uniform(0.3, 0.9))
        for child in children:
            os.kill(child.pid or 0, signal.SIGKILL)
            child.join()
        assert_sound()
        if connection.vendor == "sqlite":
            with connection.cursor() as cursor:
                cursor.execute("PRAGMA integrity_check")
                assert cursor.fetchone() == ("ok",)
        connections.close_all()


def test_killed_in_the_middle_nothing_is_half_done(real_world: World) -> None:
    killed_in_the_middle(real_world, 3)
    assert Booking.objects.exists()


@pytest.mark.slow
def test_killed_two_hundred_times_nothing_is_half_done(real_world: World) -> None:
    killed_in_the_middle(real_world, 200)


class Fault(Exception):
    """What a failing disk or a lost connection would be."""


def everything() -> tuple[object, ...]:
    """The rows that an act on places may touch."""
    bookings = list(Booking.objects.order_by("pk").values_list("pk", "state", "version", "offering", "held_until"))
    places = Counter(Place.objects.values_list("walk", "person", "given_back_at"))
    lines = Counter(Booking.objects.values_list("lines__pk", "lines__ended_at", "lines__kept_minor"))
    counts = (Transfer.objects.count(), OutboxMessage.objects.count(), AuditLine.objects.count())
    quotes = list(GroupQuote.objects.order_by("pk").values_list("pk", "booking"))
    return bookings, places, lines, counts, quotes, list(Walk.objects.order_by("pk").values_list("places_taken_shown"))


def fail_at_every_statement(act: Callable[[], object]) -> int:
    """Let `act` fail at its first statement, its second … until it comes through; each time nothing may remain."""
    before, number = everything(), 0
    while True:
        number += 1
        left = [number]

        def count(execute: Callable[..., object], *rest: object, left: list[int] = left) -> object:
            left[0] -= 1
            if left[0] == 0:
                raise Fault
            return execute(*rest)

        with connection.execute_wrapper(count):
            try:
                act()
            except Fault:
                failed = True
            else:
                failed = False
        if not failed:
            assert everything() != before
            return number - 1
        assert everything() == before, number


def acts_on_card_money(world: World) -> dict[str, Callable[[], object]]:
    """What the office says of money paid by card, and takes back."""
    by, now = world.olive, world.now
    booking = book_places(world.order("adult"), by="participant", now=now)
    payment, _ = (
        CardPayment.objects.create(
            booking=booking, variant="card", total=54, currency="GBP", status="confirmed", written_minor=5400
        )
        for _ in range(2)
    )
    owed, waits = (
        note_chargeback(booking, payment, amount_minor=1800, key=new_secret(), by=by, now=now) for _ in range(2)
    )
    settle_chargeback(owed, state="owed", reason="", fee_minor=9, by=by, now=now)
    told = {"passed_on_minor": 900, "shared": True, "reason": ""}
    payout = note_card_payout(**told, fee_minor=9, key=new_secret(), by=by, now=now)
    return {
        "take payout back": partial(take_payout_back, payout, reason="Mistyped.", by=by, now=now),
        "note payout": partial(note_card_payout, **told, fee_minor=8, key=new_secret(), by=by, now=now),
        "note chargeback": partial(
            note_chargeback, booking, payment, amount_minor=1800, key=new_secret(), by=by, now=now
        ),
        "reopen chargeback": partial(reopen_chargeback, owed, reason="Mistyped.", by=by, now=now),
        "take chargeback back": partial(take_chargeback_back, waits, reason="Mistyped.", by=by, now=now),
        "settle chargeback": partial(settle_chargeback, owed, state="written_off", reason="Ill.", by=by, now=now),
    }


def acts_of(world: World) -> dict[str, Callable[[], object]]:
    """Each act on places or money, ready to be done once."""
    now, other = world.now, another(world)
    sold = book_places(world.order(), by="participant", now=now)
    moves = book_places(world.order(), by="participant", now=now)
    grows = book_places(world.order(), by="participant", now=now)
    held, paid = (hold_places(world.order("adult"), by="participant", now=now) for _ in range(2))
    wanted = PartyChange(add=("adult",))
    terms, far = change_terms(grows, wanted, now=now).mark, move_terms(moves, other, now=now).mark
    school, class_trip = (kept_walk(world, weeks=weeks, guides=(world.gwen, world.harry)) for weeks in (2, 3))
    accept_quote(make(world, school), by="participant", now=now)
    fewer, first = again(world, school, 4), make(world, class_trip)
    key, keys, order = new_secret(), new_secret(), world.order("adult")
    return {
        "book": partial(book_places, order, by="participant", now=now),
        "hold": partial(hold_places, world.order("adult"), by="participant", now=now),
        "confirm": partial(confirm_hold, held, by="participant", now=now),
        "pay": partial(record_payment, paid, into="bank", amount_minor=2000, by=world.olive, now=now),
        "cancel": partial(cancel_booking, sold, by="participant", now=now),
        "change": partial(change_party, grows, wanted, terms=terms, key=key, by="participant", now=now),
        "move": partial(move_booking, moves, other, terms=far, key=keys, by="participant", now=now),
        "accept a quote": partial(accept_quote, first, by="participant", now=now),
        "accept a newer quote": partial(accept_quote, fewer, by="participant", now=now),
        **acts_on_card_money(world),
        "call off": partial(call_off_walk, world.offering, why="Storm.", by=world.olive, now=now),
    }


def test_a_fault_at_any_statement_leaves_the_database_as_it_was(real_world: World) -> None:
    for name, act in acts_of(real_world).items():
        assert fail_at_every_statement(act) > 10, name
    assert_sound()
