"""What cannot be undone is done as it was shown, or not at all: asked again under the lock, in the act itself."""

from __future__ import annotations

import time
from collections.abc import Callable
from functools import partial

import pytest

from bookings.models import Booking
from bookings.queries import paid, unmatched_of
from bookings.services.book_places import book_places
from bookings.services.call_off_walk import call_off_walk, told_of
from bookings.services.cancel_booking import cancel_booking, settlement
from bookings.services.record_payment import record_payment
from foraywright.floor.refusals import SeenOtherwise
from tests.bookings.race import together
from tests.cast import World
from walks.models import Offering

pytestmark = pytest.mark.database


def test_money_that_came_in_after_the_look_cancels_nothing(world: World) -> None:
    booking = book_places(world.order(), by="participant", now=world.now)
    seen = settlement(booking, ours=False, now=world.now).mark
    record_payment(booking, into="bank", amount_minor=3600, by=world.olive, now=world.now)
    with pytest.raises(SeenOtherwise, match="Nothing was cancelled"):
        cancel_booking(booking, seen=seen, by="participant", now=world.now)
    assert (Booking.objects.get().state, paid(booking)) == (Booking.State.CONFIRMED, 3600)
    again = settlement(booking, ours=False, now=world.now).mark
    assert cancel_booking(booking, seen=again, by="participant", now=world.now).state == Booking.State.CANCELLED


def test_a_party_that_came_after_the_look_calls_nothing_off(world: World) -> None:
    seen = told_of(world.offering).mark
    booking = book_places(world.order(), by="participant", now=world.now)
    with pytest.raises(SeenOtherwise, match="not called off"):
        call_off_walk(world.offering, why="Storm.", seen=seen, by=world.olive, now=world.now)
    assert Offering.objects.get().state == Offering.State.PUBLISHED
    assert Booking.objects.get(pk=booking.pk).state == Booking.State.CONFIRMED
    assert not booking.messages.filter(kind="called_off").exists()


def test_look_and_press_beside_a_payment_never_cancels_unseen(real_world: World) -> None:
    """Either it was cancelled as shown and the money came after it, for a person; or it came first and all stands."""
    for number in range(8):
        booking = book_places(real_world.order(), by="participant", now=real_world.now)
        seen = settlement(booking, ours=False, now=real_world.now).mark
        cancel = partial(cancel_booking, booking, seen=seen, by="participant", now=real_world.now)
        pay = partial(record_payment, booking, into="bank", amount_minor=3600, by=real_world.olive, now=real_world.now)
        outcomes = together([partial(_later, cancel), pay] if number % 2 else [cancel, partial(_later, pay)])
        booking.refresh_from_db()
        stands = booking.state == Booking.State.CONFIRMED
        assert stands == (outcomes[0].kind == "refused")
        assert (paid(booking), unmatched_of(booking)) == (3600, 0 if stands else 3600)


def _later(act: Callable[[], object]) -> object:
    """A little after the other, so that both orders are met."""
    time.sleep(0.02)
    return act()
