"""Cars and dogs from the booking's form to the risk assessment."""

from __future__ import annotations

from datetime import timedelta

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from bookings.arrivals import arrivals_of, assistance_dogs
from bookings.coming import coming_on
from bookings.errors import NotBooked, NotBrought
from bookings.letters import letter
from bookings.models import Booking, OutboxMessage, Place
from bookings.services.book_places import book_places
from bookings.services.booking_link import booking_link
from bookings.services.cancel_booking import cancel_booking
from bookings.services.hold_places import hold_places
from bookings.services.join_waiting_list import join_waiting_list
from bookings.services.lapse_holds import lapse_next_hold
from bookings.services.offer_places import offer_next_places
from bookings.services.record_payment import record_payment
from bookings.services.say_what_comes_along import say_what_comes_along
from foraywright.floor.models import AuditLine
from tests.cast import World
from walks.compute.arrivals import Brought
from walks.models import Site, Walk
from walks.queries import slug_of
from walks.services.set_arrivals import set_arrivals

pytestmark = pytest.mark.database


@pytest.fixture
def narrow(world: World) -> World:
    """The cast, with room for two cars at the gate and one dog."""
    Site.objects.update(car_spaces=2, most_dogs=1)
    return world


def sell(world: World, cars: int = 0, dogs: int = 0) -> Booking:
    return book_places(world.order("adult", brings=Brought(cars, dogs)), by="participant", now=world.now)


def test_cars_bind_cars_and_never_people(narrow: World) -> None:
    hold_places(narrow.order("adult", brings=Brought(1)), by="participant", now=narrow.now)
    sell(narrow, cars=1)
    with pytest.raises(NotBooked) as refused:
        sell(narrow, cars=1)
    assert refused.value.why == ("There is room for 2 cars; 2 are announced; none left.",)
    assert "book with fewer" in refused.value.now
    assert Place.objects.count() == 2
    sell(narrow)
    assert Place.objects.count() == 3


def test_a_car_space_comes_back_with_the_booking_and_with_a_hold_that_lapsed(narrow: World) -> None:
    hold_places(narrow.order("adult", brings=Brought(1)), by="participant", now=narrow.now)
    cancel_booking(sell(narrow, cars=1), by="participant", now=narrow.now)
    assert arrivals_of(narrow.walk, now=narrow.now)[0].used == 1
    assert arrivals_of(narrow.walk, now=narrow.now + timedelta(minutes=21))[0].used == 0


def test_a_party_says_later_what_it_brings(narrow: World) -> None:
    first, second = sell(narrow, cars=2), sell(narrow)
    with pytest.raises(NotBrought):
        say_what_comes_along(second, Brought(1), by="participant", now=narrow.now)
    say_what_comes_along(first, Brought(1, 1), by="participant", now=narrow.now)
    say_what_comes_along(second, Brought(1), by="participant", now=narrow.now)
    assert sorted(Booking.objects.values_list("cars", "dogs")) == [(1, 0), (1, 1)]
    line = AuditLine.objects.filter(act="say what comes along").latest("pk")
    assert line.fields == ["cars", "dogs"]


def test_places_that_come_late_come_without_a_car_that_has_no_room(narrow: World) -> None:
    order = narrow.order("adult", brings=Brought(2, 1))
    booking, later = hold_places(order, by="participant", now=narrow.now), narrow.now + timedelta(hours=1)
    lapse_next_hold(now=later)
    sell(narrow, cars=1)
    record_payment(booking, into="bank", amount_minor=1800, by=narrow.olive, now=later)
    booking.refresh_from_db()
    assert (booking.state, booking.cars, booking.dogs) == (Booking.State.CONFIRMED, 0, 0)
    assert all(one.kept for one in arrivals_of(narrow.walk, now=later))
    told = OutboxMessage.objects.get(kind=OutboxMessage.Kind.CONFIRMATION, booking=booking)
    mail = letter(told, now=later)
    for text in (str(mail.body), str(mail.alternatives[0][0])):
        assert "You have announced no cars and no dogs. If you come with more, say so" in " ".join(text.split())


def test_an_offer_comes_without_a_car_that_has_no_room(narrow: World) -> None:
    full = book_places(narrow.order(*["adult"] * 11), by="participant", now=narrow.now)
    sell(narrow, cars=2)
    waiting = join_waiting_list(narrow.order(brings=Brought(1, 0)), by="participant", now=narrow.now)
    cancel_booking(full, by="participant", now=narrow.now)
    offer_next_places(now=narrow.now)
    waiting.refresh_from_db()
    assert (waiting.state, waiting.cars) == (Booking.State.HELD, 0)


def test_who_brings_fewer_may_though_the_limit_is_broken(narrow: World) -> None:
    booking = sell(narrow, cars=2)
    set_arrivals(narrow.walk, own_car_spaces=0, own_most_dogs=None, by=narrow.olive, now=narrow.now)
    (cars, _) = arrivals_of(narrow.walk, now=narrow.now)
    assert (cars.kept, cars.left) == (False, -2)
    say_what_comes_along(booking, Brought(1), by="participant", now=narrow.now)
    with pytest.raises(NotBrought):
        say_what_comes_along(booking, Brought(2), by="participant", now=narrow.now)


def test_the_risk_assessment_hears_of_dogs(world: World) -> None:
    walk = world.walk
    assert not coming_on(walk, now=world.now).dogs
    allowed = set_arrivals(walk, own_car_spaces=None, own_most_dogs=1, by=world.olive, now=world.now)
    assert coming_on(allowed, now=world.now).dogs
    sell(world, dogs=1)
    forbidden = set_arrivals(walk, own_car_spaces=None, own_most_dogs=0, by=world.olive, now=world.now)
    assert coming_on(forbidden, now=world.now).dogs
    Booking.objects.update(dogs=0)
    assert not coming_on(Walk.objects.get(), now=world.now).dogs


@pytest.mark.parametrize(("where", "act"), [("GB-ENG", "Equality Act 2010"), ("GB-NIR", "Discrimination Act 1995")])
def test_assistance_dogs_come_by_law(where: str, act: str) -> None:
    assert act in assistance_dogs(where)
    assert "(" not in assistance_dogs("DE")


def test_the_pages_ask_and_tell(narrow: World, client: Client) -> None:
    slug, token = slug_of(narrow.offering.public_id), booking_link(sell(narrow, cars=1), now=narrow.now)
    with time_machine.travel(narrow.now, tick=False):
        assert "There is room for 2 cars; 1 is announced; 1 left." in client.get(reverse("walk_page", args=[slug])).text
        form = client.get(reverse("book", args=[slug])).text
        assert 'name="cars"' in form
        assert 'name="dogs"' in form
        assert 'name="cars"' not in client.get(reverse("join_list", args=[slug])).text
        page = reverse("booking_getting_there", args=[token])
        assert page in client.get(reverse("booking_page", args=[token])).text
        assert "Equality Act 2010" in client.get(page).text
        refused = client.post(page, {"cars": "3", "dogs": "0"})
        assert refused.status_code == 422
        assert 'value="3"' in refused.text
        assert client.post(page, {"cars": "2", "dogs": "1"}).status_code == 302
    assert Booking.objects.values_list("cars", "dogs").get() == (2, 1)


def test_staff_set_the_limits_of_one_walk(narrow: World, client: Client) -> None:
    client.force_login(narrow.olive)
    page = reverse("staff_arrivals", args=[narrow.offering.public_id, 1])
    with time_machine.travel(narrow.now, tick=False):
        assert page in client.get(reverse("staff_walk", args=[narrow.offering.public_id])).text
        assert client.post(page, {"own_car_spaces": "7", "own_most_dogs": ""}).status_code == 302
        assert "There is room for 7 cars" in client.get(page).text
    assert (narrow.walk.own_car_spaces, narrow.walk.own_most_dogs) == (7, None)
