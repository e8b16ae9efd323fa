"""The letter before a hold lapses: it offers to hold the places longer only where a press would do so."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from bookings.letters import letter
from bookings.models import Booking, OutboxMessage
from bookings.services.booking_link import booking_link
from bookings.services.hold_places import hold_places
from bookings.services.lapse_holds import warn_of_next_hold
from tests.cast import World
from tests.conftest import NOW

LONGER = "have them held longer by one press"
BUTTON = "Hold them for 20 minutes from now"


def told(now: datetime) -> tuple[str, str]:
    """The letter as text and as HTML."""
    warn_of_next_hold(now=now)
    mail = letter(OutboxMessage.objects.get(kind=OutboxMessage.Kind.HOLD_LAPSING), now=now)
    return str(mail.body), str(mail.alternatives[0][0])


@time_machine.travel(NOW, tick=False)
@pytest.mark.parametrize(
    ("changed", "longer"),
    [
        ({}, True),
        ({"extensions": 10}, False),
        ({"hold_kind": Booking.HoldKind.OFFER}, False),
        ({"session_ends_at": NOW + timedelta(minutes=20)}, False),
        ({"session_ends_at": NOW + timedelta(minutes=40)}, True),
    ],
)
def test_letter_and_page_offer_what_a_press_would_do(world: World, changed: dict[str, object], longer: bool) -> None:
    booking = hold_places(world.order(), by="participant", now=world.now)
    Booking.objects.update(**changed)
    page = Client().get(reverse("booking_page", args=[booking_link(booking, now=world.now)])).content.decode()
    assert (BUTTON in page) is longer
    for form in told(world.now + timedelta(minutes=15)):
        assert (LONGER in form) is longer


@time_machine.travel(NOW, tick=False)
def test_it_counts_whoever_has_no_name_yet_and_says_the_hour_as_the_walk_does(world: World) -> None:
    hold_places(world.order("adult", "adult", "4-8", names=("Ann Ash",)), by="participant", now=world.now)
    for form in told(world.now + timedelta(minutes=15)):
        assert "For: Ann Ash (adult), adult and child of 4 to 8." in form
        assert "held until Monday 14 September 2026, 10.20 am" in form
    hold_places(world.order("adult", "adult"), by="participant", now=world.now)
    warn_of_next_hold(now=world.now + timedelta(minutes=15))
    newest = OutboxMessage.objects.filter(kind=OutboxMessage.Kind.HOLD_LAPSING).latest("pk")
    assert "For: 2 × adult." in str(letter(newest, now=world.now + timedelta(minutes=15)).body)
