"""Whom places are offered to: pure decisions on rooms, and the acts from joining to taking, declining and lapsing."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from bookings.compute.rooms import Room
from bookings.compute.waiting_list import Round, Waiting, is_on_open_sale, look_at_the_list
from bookings.errors import NotBooked, NotConfirmed, NotJoined
from bookings.models import Booking, OutboxMessage, Place, WaitingEntry
from bookings.queries import balance, position_of
from bookings.services.book_places import book_places
from bookings.services.cancel_booking import cancel_booking
from bookings.services.change_party import PartyChange, change_party, change_terms
from bookings.services.confirm_hold import confirm_hold
from bookings.services.join_waiting_list import join_waiting_list
from bookings.services.lapse_holds import lapse_next_hold, warn_of_next_hold
from bookings.services.offer_places import LOOK_AGAIN, offer_next_places
from foraywright.floor.ids import new_secret
from tests.cast import World
from walks.compute.age_bands import policy_from_toml
from walks.compute.head_count import PartyAges, Person
from walks.compute.limits import Cap, StaffMember
from walks.models import InsuranceCover, LandownersPermission
from walks.policies import default_ratios

database = pytest.mark.database
GUIDE = StaffMember("Gwen", "guide", adult=True, background_check_in_date=True)


def party(number: int) -> PartyAges:
    return PartyAges((Person(30),) * number)


def room(places: int, *coming: int) -> Room:
    cap = Cap("site", "The site", "participants", places, "test", "1")
    return Room(policy_from_toml(default_ratios()), (cap,), (GUIDE, GUIDE), tuple(party(one) for one in coming))


def waiting(*sizes: int, passed_over: int = 0) -> list[Waiting]:
    """Parties in order, the first of which was passed over so often."""
    return [Waiting(n, party(size), passed_over if n == 0 else 0) for n, size in enumerate(sizes)]


@pytest.mark.parametrize(
    ("rooms", "sizes", "passed", "days", "found"),
    [
        ([room(5, 3)], (2, 1), 0, 20, Round((0,))),
        ([room(6, 3)], (2, 1, 1), 0, 20, Round((0, 1))),
        ([room(5, 3)], (3, 2), 0, 20, Round((1,), (0,))),
        ([room(5, 3)], (3, 4), 0, 20, Round()),
        ([room(5, 4)], (2, 2, 1, 2), 0, 20, Round((2,), (0, 1))),
        ([room(5, 3)], (3, 2), 2, 20, Round((1,), (0,))),
        ([room(5, 3)], (3, 2), 3, 20, Round((), (), 0)),
        ([room(5, 3)], (3, 2), 3, 8, Round((), (), 0)),
        ([room(5, 3)], (3, 2), 3, 7, Round((1,), (0,))),
        ([room(5, 3)], (6, 2), 3, 20, Round((1,), (0,))),
        ([room(9, 3), room(5, 4)], (2, 1), 0, 20, Round((1,), (0,))),
        ([], (1,), 0, 20, Round()),
    ],
)
def test_a_table_worked_by_hand(
    rooms: list[Room], sizes: tuple[int, ...], passed: int, days: int, found: Round
) -> None:
    list_ = waiting(*sizes, passed_over=passed)
    assert look_at_the_list(rooms, list_, days_before=days) == found
    assert is_on_open_sale(rooms, list_, days_before=days) is (not found.offer and found.saved_for is None)


@pytest.fixture
def full(world: World) -> Booking:
    """Twelve places: ten sold, and two that Pat has."""
    book_places(world.order(*["adult"] * 10, name="Coach Party"), by="participant", now=world.now)
    return book_places(world.order(), by="participant", now=world.now)


def join(world: World, *bands: str, minutes: int = 0) -> Booking:
    now = world.now + timedelta(minutes=minutes)
    return join_waiting_list(world.order(*bands), by="participant", now=now)


def offers(now: datetime) -> list[Booking]:
    while offer_next_places(now=now):
        pass
    return list(Booking.objects.filter(state="held", hold_kind="offer").order_by("pk"))


@database
def test_who_waits_is_offered_what_comes_free_and_takes_it(world: World, full: Booking) -> None:
    first, second = join(world, "adult", "adult"), join(world, "adult", minutes=1)
    assert (position_of(first), position_of(second), balance(first)) == (1, 2, 0)
    assert OutboxMessage.objects.filter(kind="waiting").count() == 2
    later = world.now + timedelta(minutes=10)
    assert offers(later) == []
    cancel_booking(full, by="participant", now=later)
    assert offers(later) == [first]
    offered = Booking.objects.get(pk=first.pk)
    assert (offered.held_until, balance(offered)) == (later + timedelta(hours=24), 0)
    assert OutboxMessage.objects.filter(booking=first, kind="offer", version=offered.version).count() == 1
    taken = confirm_hold(offered, by="participant", now=later + timedelta(hours=23))
    assert (taken.state, balance(taken)) == (Booking.State.CONFIRMED, 3600)
    assert position_of(second) == 1


@database
def test_nothing_is_on_open_sale_while_somebody_who_fits_waits(world: World, full: Booking) -> None:
    join(world, "adult", "adult")
    cancel_booking(full, by="participant", now=world.now)
    with pytest.raises(NotBooked) as refused:
        book_places(world.order("adult"), by="participant", now=world.now)
    assert refused.value.sentence == (
        "Not booked: the free places go to those on the waiting list first. Nothing is owed and no place was taken. "
        "Join the waiting list, or choose another walk."
    )


@database
def test_an_offer_that_nobody_takes_goes_to_the_next(world: World, full: Booking) -> None:
    first, second = join(world, "adult", "adult"), join(world, "adult", minutes=1)
    cancel_booking(full, by="participant", now=world.now)
    assert offers(world.now) == [first]
    end = Booking.objects.get(pk=first.pk).held_until
    assert lapse_next_hold(now=end - timedelta(seconds=1)) is None
    assert warn_of_next_hold(now=end - timedelta(hours=4)) == first
    assert warn_of_next_hold(now=end - timedelta(hours=4)) is None
    assert lapse_next_hold(now=end) == first
    assert lapse_next_hold(now=end) is None
    assert offers(end) == [second]
    with pytest.raises(NotConfirmed):
        confirm_hold(first, by="participant", now=end)
    assert list(first.messages.order_by("pk").values_list("kind", flat=True)) == [
        "waiting",
        "offer",
        "hold_lapsing",
        "hold_lapsed",
    ]


@database
def test_who_declines_makes_room_for_the_next(world: World, full: Booking) -> None:
    first, second = join(world, "adult", "adult"), join(world, "adult", minutes=1)
    cancel_booking(full, by="participant", now=world.now)
    offers(world.now)
    cancel_booking(first, by="participant", now=world.now)
    assert offers(world.now) == [second]
    assert not Place.objects.filter(booking=first, given_back_at=None).exists()


@database
def test_who_is_passed_over_is_told_and_keeps_the_place(world: World, full: Booking) -> None:
    big, small = join(world, "adult", "adult", "adult"), join(world, "adult", minutes=1)
    cancel_booking(full, by="participant", now=world.now)
    assert offers(world.now) == [small]
    assert (big.waiting.passed_over, position_of(big)) == (0, 1)
    assert WaitingEntry.objects.get(booking=big).passed_over == 1
    assert OutboxMessage.objects.filter(booking=big, kind="passed_over").count() == 1


@database
def test_room_that_another_room_made_is_found_within_minutes(world: World, full: Booking) -> None:
    waits = join(world, "adult")
    assert offers(world.now) == []
    LandownersPermission.objects.update(most_people=20)
    InsuranceCover.objects.update(most_people=20)
    assert offers(world.now + LOOK_AGAIN - timedelta(seconds=1)) == []
    assert offers(world.now + LOOK_AGAIN) == [waits]


@database
def test_who_grows_goes_to_the_end_and_who_shrinks_stays(world: World, full: Booking) -> None:
    first, second = join(world, "adult", "adult"), join(world, "adult", "adult", minutes=1)
    later = world.now + timedelta(minutes=5)

    def change(booking: Booking, wanted: PartyChange) -> None:
        terms = change_terms(booking, wanted, now=later).mark
        change_party(booking, wanted, terms=terms, key=new_secret(), by="participant", now=later)

    gone = first.party.people.latest("pk").public_id
    change(first, PartyChange(remove=frozenset({gone})))
    assert (position_of(first), position_of(second)) == (1, 2)
    change(first, PartyChange(add=("adult",)))
    assert (position_of(first), position_of(second)) == (2, 1)


@database
def test_nobody_waits_for_what_can_be_booked_or_never_will_be(world: World) -> None:
    with pytest.raises(NotJoined, match="There is room for your party: book it now"):
        join(world, "adult")
    with pytest.raises(NotJoined, match="would not fit even if nobody else came"):
        join(world, *["adult"] * 13)
    assert not Booking.objects.exists()


@database
def test_the_same_form_twice_waits_once(world: World, full: Booking) -> None:
    order = world.order("adult")
    first = join_waiting_list(order, by="participant", now=world.now)
    assert join_waiting_list(order, by="participant", now=world.now + timedelta(minutes=1)) == first
    assert WaitingEntry.objects.count() == 1
