"""Holds, late money, changing a party and moving: what each writes, and every penny of it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from bookings.compute.refunds import held_share, kept_shares
from bookings.errors import NotChanged, NotConfirmed, NotExtended, NotMoved
from bookings.letters import letter
from bookings.models import Booking, CallOffChoice, FormSent, OutboxMessage, Place, Transfer
from bookings.queries import awaiting_choice, balance, coming_back, due, paid
from bookings.services.book_places import book_places
from bookings.services.booking_link import booking_link
from bookings.services.call_off_walk import call_off_walk
from bookings.services.cancel_booking import cancel_booking, settlement
from bookings.services.change_party import PartyChange, change_party, change_terms
from bookings.services.change_walk import change_walk
from bookings.services.choose_after_call_off import choose_refund, refund_next_unchosen
from bookings.services.confirm_hold import confirm_hold
from bookings.services.extend_hold import extend_hold
from bookings.services.hold_places import hold_places
from bookings.services.lapse_holds import lapse_next_hold
from bookings.services.move_booking import move_booking, move_terms
from bookings.services.offer_places import offer_next_places
from bookings.services.record_payment import record_payment
from bookings.tax_points import standing_vat
from foraywright.floor.ids import new_secret
from foraywright.floor.models import PolicyVersion
from tests.cast import WALK_DAY, World
from tests.pages import words_of
from walks.models import Offering, Walk
from walks.services.publish_walk import publish_walk
from walks.services.schedule_walk import schedule_walk
from walks.services.sessions import session_of

pytestmark = pytest.mark.database
LONDON = ZoneInfo("Europe/London")
HALF_BACK = datetime(2026, 9, 22, 12, tzinfo=LONDON)
"""Eleven days before: half of the price comes back."""


def offer(world: World, *days: date, prices: PolicyVersion | None = None) -> Offering:
    sessions = [world.session(local_date=day) for day in days]
    plan = world.plan(*sessions, title="Another", **({"prices": prices} if prices else {}))
    return publish_walk(schedule_walk(plan, by=world.olive, now=world.now), by=world.olive, now=world.now)


def priced(world: World, adult: int) -> PolicyVersion:
    body = world.offering.prices.body
    body = body | {"by_band": body["by_band"] | {"adult": adult}}
    return PolicyVersion.objects.create(kind="prices", number=2, body=body, source="the cast", since=world.now)


def pay(world: World, booking: Booking, amount: int, *, now: datetime | None = None) -> Booking:
    record_payment(booking, into="bank", amount_minor=amount, by=world.olive, now=now or world.now)
    return Booking.objects.get(pk=booking.pk)


def change(booking: Booking, wanted: PartyChange, *, now: datetime) -> Booking:
    terms = change_terms(booking, wanted, now=now).mark
    return change_party(booking, wanted, terms=terms, key=new_secret(), by="participant", now=now)


def move(booking: Booking, to: Offering, *, now: datetime) -> Booking:
    terms = move_terms(booking, to, now=now).mark
    return move_booking(booking, to, terms=terms, key=new_secret(), by="participant", now=now)


def test_a_hold_is_made_longer_ten_times_by_one_press_each(world: World) -> None:
    booking, now = hold_places(world.order(), by="participant", now=world.now), world.now
    for _ in range(10):
        now += timedelta(minutes=19)
        booking = extend_hold(booking, key=new_secret(), by="participant", now=now)
        assert booking.held_until == now + timedelta(minutes=20)
    with pytest.raises(NotExtended, match="10 times, and this one has been"):
        extend_hold(booking, key=new_secret(), by="participant", now=now)


def test_one_press_that_arrives_twice_counts_once(world: World) -> None:
    booking, key = hold_places(world.order(), by="participant", now=world.now), new_secret()
    for _ in range(3):
        booking = extend_hold(booking, key=key, by="participant", now=world.now + timedelta(minutes=5))
    assert (booking.extensions, booking.version) == (1, 2)


def test_a_hold_that_is_over_is_neither_made_longer_nor_confirmed(world: World) -> None:
    booking, end = hold_places(world.order(), by="participant", now=world.now), world.now + timedelta(minutes=20)
    with pytest.raises(NotExtended, match="not held any more"):
        extend_hold(booking, key=new_secret(), by="participant", now=end)
    with pytest.raises(NotConfirmed):
        confirm_hold(booking, by="participant", now=end)
    assert not Transfer.objects.exists()


def test_paid_in_two_parts_a_hold_is_confirmed_with_the_second(world: World) -> None:
    booking = pay(world, hold_places(world.order(), by="participant", now=world.now), 3000)
    assert (booking.state, balance(booking)) == (Booking.State.HELD, -3000)
    booking = pay(world, booking, 700)
    assert (booking.state, balance(booking), coming_back(booking)) == (Booking.State.CONFIRMED, 0, 100)
    assert OutboxMessage.objects.filter(booking=booking, kind="confirmation").count() == 1


def test_what_was_paid_in_part_comes_back_when_the_hold_lapses(world: World) -> None:
    booking = pay(world, hold_places(world.order(), by="participant", now=world.now), 3000)
    lapse_next_hold(now=world.now + timedelta(minutes=20))
    assert (balance(booking), coming_back(booking), paid(booking)) == (0, 3000, 3000)


@pytest.mark.parametrize("tidied", [True, False])
def test_late_money_that_still_fits_confirms(world: World, tidied: bool) -> None:
    booking, later = hold_places(world.order(), by="participant", now=world.now), world.now + timedelta(hours=2)
    if tidied:
        lapse_next_hold(now=later)
    booking = pay(world, booking, 3600, now=later)
    assert (booking.state, balance(booking), coming_back(booking)) == (Booking.State.CONFIRMED, 0, 0)
    assert Place.objects.filter(booking=booking, given_back_at=None).count() == 2


@pytest.mark.parametrize("tidied", [True, False])
def test_late_money_that_does_not_fit_goes_back_and_the_party_waits_where_it_was(world: World, tidied: bool) -> None:
    booking, later = hold_places(world.order(), by="participant", now=world.now), world.now + timedelta(hours=2)
    if tidied:
        lapse_next_hold(now=later)
    book_places(world.order(*["adult"] * 12), by="participant", now=later)
    booking = pay(world, booking, 3600, now=later)
    assert (booking.state, balance(booking), coming_back(booking)) == (Booking.State.WAITING, 0, 3600)
    assert booking.waiting.joined_at == world.now
    assert not Place.objects.filter(booking=booking, given_back_at=None).exists()
    assert OutboxMessage.objects.filter(booking=booking, kind="paid_too_late").count() == 1


def test_late_money_that_was_promised_back_pays_for_the_offer_that_is_taken(world: World) -> None:
    booking, later = hold_places(world.order(), by="participant", now=world.now), world.now + timedelta(hours=2)
    rival = book_places(world.order(*["adult"] * 12), by="participant", now=later)
    pay(world, booking, 3600, now=later)
    cancel_booking(rival, by="participant", now=later)
    offer_next_places(now=later)
    confirm_hold(booking, by="participant", now=later)
    assert (balance(booking), coming_back(booking), paid(booking)) == (0, 0, 3600)


def test_late_money_that_is_too_little_goes_back(world: World) -> None:
    booking, later = hold_places(world.order(), by="participant", now=world.now), world.now + timedelta(hours=2)
    booking = pay(world, booking, 3599, now=later)
    assert (booking.state, coming_back(booking)) == (Booking.State.WAITING, 3599)


def test_cancelling_one_of_three_keeps_half_of_one_price(world: World) -> None:
    booking = pay(world, book_places(world.order("adult", "adult", "4-8"), by="participant", now=world.now), 4500)
    second = booking.party.people.order_by("pk")[1]
    booking = change(booking, PartyChange(remove=frozenset({second.public_id})), now=HALF_BACK)
    assert (due(booking), balance(booking), coming_back(booking)) == (3600, 0, 900)
    assert Place.objects.filter(booking=booking, given_back_at=None).count() == 2
    assert settlement(booking, ours=False, now=HALF_BACK).kept == 900 + 1350


def test_what_was_promised_back_pays_for_whoever_comes_instead(world: World) -> None:
    booking = pay(world, book_places(world.order(), by="participant", now=world.now), 3600)
    gone = frozenset({booking.party.people.latest("pk").public_id})
    change(booking, PartyChange(remove=gone), now=world.now)
    assert coming_back(booking) == 1800
    terms = change_terms(booking, PartyChange(add=("adult",)), now=world.now)
    assert (terms.met, terms.to_pay) == (1800, 0)
    change(booking, PartyChange(add=("adult",)), now=world.now)
    assert (balance(booking), coming_back(booking), paid(booking)) == (0, 0, 3600)
    assert standing_vat(booking) == {2000: 600}


def test_whoever_looked_after_the_children_is_replaced(world: World) -> None:
    booking = book_places(world.order("adult", "adult", "4-8"), by="participant", now=world.now)
    first, second, child = booking.party.people.order_by("pk")
    change(booking, PartyChange(remove=frozenset({first.public_id})), now=world.now)
    child.refresh_from_db()
    assert child.guardian == second


def test_a_party_grows_only_where_there_is_room(world: World) -> None:
    booking = book_places(world.order(*["adult"] * 11), by="participant", now=world.now)
    booking = change(booking, PartyChange(add=("adult",)), now=world.now)
    assert (due(booking), booking.version) == (12 * 1800, 2)
    with pytest.raises(NotChanged, match="no place remains"):
        change(booking, PartyChange(add=("adult",)), now=world.now)


def test_nobody_is_left_is_a_cancellation(world: World) -> None:
    booking = book_places(world.order("adult"), by="participant", now=world.now)
    everybody = frozenset(booking.party.people.values_list("public_id", flat=True))
    with pytest.raises(NotChanged, match="Cancel the booking instead"):
        change(booking, PartyChange(remove=everybody), now=world.now)


def test_a_change_under_amounts_that_nobody_saw_is_refused_and_a_retry_is_done_once(world: World) -> None:
    booking, wanted, key = (
        book_places(world.order(), by="participant", now=world.now),
        PartyChange(("adult",)),
        "k" * 30,
    )
    wanted = PartyChange(add=("adult",))
    with pytest.raises(NotChanged, match="has changed since it was shown"):
        change_party(booking, wanted, terms="1-2-3", key=key, by="participant", now=world.now)
    terms = change_terms(booking, wanted, now=world.now).mark
    for _ in range(2):
        change_party(booking, wanted, terms=terms, key=key, by="participant", now=world.now)
    assert booking.party.people.count() == 3
    assert FormSent.objects.count() == OutboxMessage.objects.filter(kind="changed").count() == 1


def test_moving_takes_the_money_along_and_keeps_the_earlier_deadline(world: World) -> None:
    later = offer(world, WALK_DAY + timedelta(days=7), prices=priced(world, 2000))
    booking = pay(world, book_places(world.order(), by="participant", now=world.now), 3600)
    booking = move(booking, later, now=world.now)
    assert (booking.offering, due(booking), balance(booking), booking.refund_day) == (later, 4000, 400, WALK_DAY)
    assert settlement(booking, ours=False, now=HALF_BACK).percent == 50
    assert set(Place.objects.filter(booking=booking, given_back_at=None).values_list("walk__offering", flat=True)) == {
        later.pk
    }
    assert Walk.objects.get(offering=world.offering).places_taken_shown == 0
    back = move(booking, world.offering, now=world.now)
    assert (due(back), balance(back), back.refund_day) == (3600, 0, WALK_DAY)


def test_who_moves_because_we_changed_the_walk_has_the_new_walks_deadline(world: World) -> None:
    later = offer(world, WALK_DAY + timedelta(days=7))
    booking = book_places(world.order(), by="participant", now=world.now)
    earlier = replace(session_of(world.walk), local_time=time(8, 0))
    now = world.now + timedelta(hours=1)
    change_walk(world.walk, earlier, why="The tide.", by=world.olive, now=now)
    assert move(booking, later, now=now + timedelta(hours=1)).refund_day is None


def test_of_a_cheaper_walk_the_difference_comes_back_by_the_policy(world: World) -> None:
    cheaper = offer(world, WALK_DAY + timedelta(days=7), prices=priced(world, 1000))
    booking = pay(world, book_places(world.order(), by="participant", now=world.now), 3600)
    booking = move(booking, cheaper, now=HALF_BACK)
    assert (due(booking), balance(booking), coming_back(booking)) == (2800, 0, 800)


def test_a_full_walk_takes_nobody_else(world: World) -> None:
    other = offer(world, WALK_DAY + timedelta(days=7))
    book_places(world.order(*["adult"] * 12, offering=other), by="participant", now=world.now)
    booking = book_places(world.order(), by="participant", now=world.now)
    with pytest.raises(NotMoved, match="there is no room for your party of 2"):
        move(booking, other, now=world.now)
    assert Place.objects.filter(booking=booking, given_back_at=None).count() == 2


def test_after_we_call_off_the_money_waits_for_a_choice_of_fourteen_days(world: World) -> None:
    bookings = [pay(world, book_places(world.order(), by="participant", now=world.now), 3600) for _ in range(3)]
    other = offer(world, WALK_DAY + timedelta(days=7), prices=priced(world, 1000))
    call_off_walk(world.offering, why="Storm.", by=world.olive, now=world.now)
    one, two, three = Booking.objects.order_by("pk")
    assert [awaiting_choice(booking) for booking in bookings] == [3600] * 3
    choose_refund(one, by="participant", now=world.now)
    two = move(two, other, now=world.now)
    assert (two.state, balance(two), coming_back(two), two.refund_day) == ("confirmed", 0, 1600, None)
    end = world.now + timedelta(days=14)
    assert refund_next_unchosen(now=end - timedelta(seconds=1)) is None
    assert refund_next_unchosen(now=end) == three.call_off_choice
    assert refund_next_unchosen(now=end) is None
    assert [awaiting_choice(booking) for booking in bookings] == [0] * 3
    assert list(CallOffChoice.objects.order_by("pk").values_list("choice", flat=True)) == ["refund", "move", "none"]


def test_of_a_course_under_way_only_the_sessions_to_come_are_paid_back(world: World) -> None:
    course = offer(world, WALK_DAY + timedelta(days=7), WALK_DAY + timedelta(days=14), WALK_DAY + timedelta(days=21))
    course.walks.filter(number=1).update(minutes=60)
    booking = pay(world, book_places(world.order("adult", offering=course), by="participant", now=world.now), 1800)
    first = course.walks.earliest("starts_at")
    call_off_walk(course, why="Storm.", by=world.olive, now=first.starts_at)
    assert (awaiting_choice(booking), balance(booking)) == (1800 - 257, 0)  # 60 of 420 minutes: 257.14


@pytest.mark.parametrize(
    ("prices", "percent", "earned", "kept"),
    [
        ([1800, 1800, 900], 50, 0, [900, 900, 450]),
        ([333, 333, 333], 50, 0, [166, 166, 167]),
        ([1, 1, 1], 50, 0, [0, 0, 1]),
        ([1800, 0], 100, 0, [0, 0]),
        ([1800, 1800], 100, 1000, [500, 500]),
        ([0, 0], 50, 0, [0, 0]),
    ],
)
def test_what_is_kept_is_shared_by_largest_remainder(
    prices: list[int], percent: int, earned: int, kept: list[int]
) -> None:
    assert kept_shares(prices, percent, earned=earned) == kept


def test_the_worth_of_held_sessions_adds_up() -> None:
    assert [held_share(1000, [60, 60, 60], held) for held in range(4)] == [0, 334, 667, 1000]


def test_late_money_that_still_fits_shows_its_places_as_taken(world: World) -> None:
    booking = hold_places(world.order(), by="participant", now=world.now)
    late = world.now + timedelta(hours=1)
    lapse_next_hold(now=late)
    record_payment(booking, into="bank", amount_minor=3600, by=world.olive, now=late)
    assert Booking.objects.get(pk=booking.pk).state == "confirmed"
    assert world.walk.places_taken_shown == 2


def test_what_was_paid_in_part_for_a_hold_moves_along_when_we_call_the_walk_off(world: World) -> None:
    booking = pay(world, hold_places(world.order(), by="participant", now=world.now), 1000)
    call_off_walk(world.offering, why="Storm.", by=world.olive, now=world.now)
    booking.refresh_from_db()
    assert awaiting_choice(booking) == 1000
    booking = move(booking, offer(world, WALK_DAY + timedelta(days=7)), now=world.now)
    assert (booking.state, due(booking), balance(booking)) == (Booking.State.CONFIRMED, 3600, 2600)


@pytest.mark.parametrize(("wanted", "price"), [(PartyChange(add=("adult",)), 5400), ("remove", 1800)])
def test_who_waits_after_a_hold_and_changes_is_seated_at_the_new_price_only(
    world: World, wanted: PartyChange | str, price: int
) -> None:
    booking, later = hold_places(world.order(), by="participant", now=world.now), world.now + timedelta(hours=2)
    full = book_places(world.order(*["adult"] * 12), by="participant", now=later)
    assert pay(world, booking, 3600, now=later).state == Booking.State.WAITING
    booking = Booking.objects.get(pk=booking.pk)
    one = booking.party.people.latest("pk").public_id
    change(booking, PartyChange(remove=frozenset({one})) if isinstance(wanted, str) else wanted, now=later)
    cancel_booking(full, by="participant", now=later)
    assert pay(world, booking, price - 1, now=later).state == Booking.State.WAITING
    booking = pay(world, booking, price, now=later)
    assert (booking.state, due(booking), balance(booking)) == (Booking.State.CONFIRMED, price, 0)
    assert booking.lines.count() == booking.places.filter(given_back_at=None).count()


def test_what_is_kept_of_who_left_late_is_said_where_the_sums_stand(world: World, client: Client) -> None:
    booking = pay(world, book_places(world.order(), by="participant", now=world.now), 3600)
    late = world.walk.starts_at - timedelta(days=10)
    change = PartyChange(remove=frozenset({booking.party.people.latest("pk").public_id}))
    terms = change_terms(booking, change, now=late)
    change_party(booking, change, terms=terms.mark, key=new_secret(), by="participant", now=late)
    with time_machine.travel(late, tick=False):
        page = words_of(client.get(reverse("booking_page", args=[booking_link(booking, now=late)])).content)
    assert "Price £18.00 Kept £9.00 of places that were given up Paid £36.00 Comes back £9.00" in page
    told = str(letter(OutboxMessage.objects.get(kind=OutboxMessage.Kind.CHANGED), now=late).body)
    assert "Kept of places that were given up: £9.00\nTogether £27.00; £36.00 is paid." in told
    assert "£9.00 goes back to you" in told
