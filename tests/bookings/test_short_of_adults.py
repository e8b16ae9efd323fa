"""A departure that leaves children with too few adults: who is left is asked for one, once, and may choose."""

from __future__ import annotations

from datetime import timedelta

import pytest

from bookings.adults import asked_for_an_adult
from bookings.letters import letter
from bookings.letters_still_true import no_longer_true
from bookings.models import Booking, OutboxMessage
from bookings.queries import balance, due, statement_of
from bookings.services.book_places import book_places
from bookings.services.cancel_booking import cancel_booking, settlement
from bookings.services.change_party import PartyChange, change_party, change_terms
from bookings.services.move_booking import move_booking, move_terms
from bookings.services.record_payment import record_payment
from bookings.services.send_messages import send_next_message
from foraywright.floor.ids import new_secret
from tests.bookings.test_places_races import another
from tests.cast import World

pytestmark = pytest.mark.database
Kind = OutboxMessage.Kind
BRING = PartyChange(add=("adult",))


@pytest.fixture
def family(world: World) -> Booking:
    """A parent who is in charge of a child: with Gwen alone there are the two adults that a child needs."""
    world.walk.walk_guides.filter(guide=world.harry).delete()
    return book_places(world.order("adult", "4-8"), by="participant", now=world.now)


@pytest.fixture
def youth(world: World, family: Booking) -> Booking:
    """Somebody of thirteen to seventeen who comes alone."""
    return book_places(world.order("13-17", guardian=False), by="participant", now=world.now)


@pytest.fixture
def grown(world: World, family: Booking) -> Booking:
    return book_places(world.order(), by="participant", now=world.now)


def leave(booking: Booking, world: World) -> None:
    cancel_booking(booking, by="participant", now=world.now)


def asked() -> list[OutboxMessage]:
    return list(OutboxMessage.objects.filter(kind=Kind.SHORT_OF_ADULTS))


def change(booking: Booking, wanted: PartyChange, world: World) -> None:
    mark = change_terms(booking, wanted, now=world.now).mark
    change_party(booking, wanted, terms=mark, key=new_secret(), by="participant", now=world.now)


def test_only_parties_with_children_are_asked_and_only_once(
    world: World, family: Booking, youth: Booking, grown: Booking
) -> None:
    later = book_places(world.order(), by="participant", now=world.now)
    leave(grown, world)
    assert asked() == []
    leave(family, world)
    (message,) = asked()
    assert message.booking == youth
    leave(later, world)
    assert asked() == [message]


def test_the_letter_says_what_is_missing_and_what_to_choose(world: World, family: Booking, youth: Booking) -> None:
    leave(family, world)
    mail = letter(asked()[0], now=world.now)
    said = " ".join(mail.body.split())
    assert mail.subject == "Too few adults: The bare wood, Saturday 3 October 2026"
    assert "staff and guardians in charge together must be 2 adults; 1 is coming." in said
    assert "That adult pays nothing." in said
    assert "children cannot go along" in said


def test_moving_away_is_a_departure_too(world: World, family: Booking, youth: Booking) -> None:
    to = another(world)
    terms = move_terms(family, to, now=world.now).mark
    move_booking(family, to, terms=terms, key=new_secret(), by="participant", now=world.now)
    assert [one.booking for one in asked()] == [youth]


def test_an_adult_who_joins_for_it_pays_nothing_and_mends_it(world: World, family: Booking, youth: Booking) -> None:
    leave(family, world)
    message = asked()[0]
    assert statement_of(world.walk, now=world.now).refusals
    before = due(youth)
    both = PartyChange(add=("adult", "adult"))
    assert change_terms(youth, both, now=world.now).after == before + 1800
    change(youth, BRING, world)
    assert (due(youth), balance(youth)) == (before, before)
    assert youth.lines.get(label="adult").net_minor == 0
    assert not statement_of(world.walk, now=world.now).refusals
    assert no_longer_true(message, now=world.now) == "Enough adults are coming again."
    assert change_terms(youth, BRING, now=world.now).after == before + 1800


def test_who_was_not_asked_pays_for_another_adult(world: World, family: Booking, youth: Booking) -> None:
    assert change_terms(youth, BRING, now=world.now).after == due(youth) + 1800


def test_who_rather_leaves_gets_all_back_while_an_adult_is_missing(
    world: World, family: Booking, youth: Booking
) -> None:
    record_payment(youth, into="bank", amount_minor=1200, by=world.olive, now=world.now)
    late = world.walk.starts_at - timedelta(days=1)
    assert settlement(youth, ours=False, now=late).back == 0
    leave(family, world)
    assert settlement(youth, ours=False, now=late).back == 1200
    change(youth, BRING, world)
    assert not asked_for_an_adult(youth, now=late)
    assert settlement(youth, ours=False, now=late).back == 0


def test_the_letter_is_set_aside_where_it_is_no_longer_true(world: World, family: Booking, youth: Booking) -> None:
    leave(family, world)
    book_places(world.order("adult", "4-8"), by="participant", now=world.now)
    while send_next_message(now=world.now):
        pass
    (message,) = asked()
    assert message.not_needed == "Enough adults are coming again."


def test_nobody_is_asked_of_a_walk_that_has_begun(world: World, family: Booking, youth: Booking) -> None:
    leave(family, world)
    assert no_longer_true(asked()[0], now=world.walk.starts_at) == "The walk has begun."
    assert not asked_for_an_adult(youth, now=world.walk.starts_at)
