"""Lifts: rough areas on the list, details to two parties that agreed, nothing after the walk."""

from __future__ import annotations

from collections import Counter
from datetime import timedelta
from functools import partial

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from bookings.errors import NotShared
from bookings.lifts import adults_of, board_of, may_share
from bookings.models import Booking, LiftAsk, LiftShare
from bookings.person_export import export_of
from bookings.services.book_places import book_places
from bookings.services.booking_link import booking_link
from bookings.services.call_off_walk import call_off_walk
from bookings.services.cancel_booking import cancel_booking
from bookings.services.change_party import PartyChange, change_party, change_terms
from bookings.services.move_booking import move_booking, move_terms
from bookings.services.share_lifts import (
    UNSEEN,
    LiftWords,
    answer_lift,
    ask_for_lift,
    end_agreed,
    say_lift,
    take_lift_off,
)
from foraywright.floor.ids import new_secret
from foraywright.floor.models import AuditLine
from tests.bookings.erasing import erase_next_overdue
from tests.bookings.race import together
from tests.cast import WALK_DAY, World
from tests.pages import words_of
from walks.models import Offering, Site
from walks.services.publish_walk import publish_walk
from walks.services.schedule_walk import schedule_walk
from walks.services.set_arrivals import set_arrivals

pytestmark = pytest.mark.database


def sell(world: World, name: str) -> Booking:
    order = world.order("adult", name=name, email=f"{name.lower()}@example.org", phone=f"01632 {name}")
    return book_places(order, by="participant", now=world.now)


def another(world: World) -> Offering:
    session = world.session(local_date=WALK_DAY + timedelta(days=7))
    draft = schedule_walk(world.plan(session, title="Another"), by=world.olive, now=world.now)
    return publish_walk(draft, by=world.olive, now=world.now)


def say(world: World, name: str, kind: str, seats: int = 1, shows: str = "phone") -> LiftShare:
    words = LiftWords(kind, seats, f"near {name}’s mill", f"First{name}", shows)
    return say_lift(sell(world, name), words, by="participant", now=world.now)


def agree(world: World, asker: LiftShare, asked: LiftShare, *, agrees: bool = True) -> None:
    ask_for_lift(asker.booking, asked.public_id, by="participant", now=world.now)
    answer_lift(asked.booking, asker.public_id, agrees=agrees, by="participant", now=world.now)


def page_of(client: Client, world: World, share: LiftShare) -> str:
    with time_machine.travel(world.now, tick=False):
        return client.get(reverse("booking_lifts", args=[booking_link(share.booking, now=world.now)])).text


def test_details_are_shown_only_after_both_agree_and_only_to_the_two(world: World, client: Client) -> None:
    car, rider = say(world, "Ann", "offers", 3), say(world, "Ben", "wants", shows="email")
    third = say(world, "Cat", "wants")
    ask_for_lift(rider.booking, car.public_id, by="participant", now=world.now)
    before = page_of(client, world, car)
    assert "near Ben’s mill" in before
    assert not [one for one in ("FirstBen", "ben@example.org", "01632 Ben") if one in before]
    assert "FirstAnn" not in page_of(client, world, rider)
    answer_lift(car.booking, rider.public_id, agrees=True, by="participant", now=world.now)
    after = page_of(client, world, car)
    assert "FirstBen" in after
    assert "ben@example.org" in after
    assert "01632 Ben" not in after
    assert "01632 Ann" in page_of(client, world, rider)
    assert not [one for one in ("FirstAnn", "01632 Ann", "FirstBen") if one in page_of(client, world, third)]


def test_who_was_declined_sees_nothing_and_is_not_listed_again(world: World, client: Client) -> None:
    car, rider = say(world, "Ann", "offers"), say(world, "Ben", "wants")
    agree(world, rider, car, agrees=False)
    assert "01632 Ann" not in page_of(client, world, rider)
    assert board_of(rider).others == ()
    assert board_of(car).others == ()
    with pytest.raises(NotShared):
        answer_lift(car.booking, rider.public_id, agrees=True, by="participant", now=world.now)
    with pytest.raises(NotShared):
        ask_for_lift(car.booking, rider.public_id, by="participant", now=world.now)


def test_seats_are_not_given_twice_and_a_party_takes_one_lift(world: World) -> None:
    car, other_car = say(world, "Ann", "offers", 2), say(world, "Dan", "offers", 2)
    one, two = say(world, "Ben", "wants", 2), say(world, "Cat", "wants", 1)
    ask_for_lift(two.booking, car.public_id, by="participant", now=world.now)
    agree(world, one, car)
    with pytest.raises(NotShared, match="seats"):
        answer_lift(car.booking, two.public_id, agrees=True, by="participant", now=world.now)
    with pytest.raises(NotShared, match="seats"):
        ask_for_lift(other_car.booking, one.public_id, by="participant", now=world.now)
    assert board_of(other_car).others == (two,)


def test_a_party_without_an_adult_or_on_another_walk_takes_no_part(world: World) -> None:
    car, rider = say(world, "Ann", "offers"), say(world, "Ben", "wants")
    rider.booking.party.people.update(band="13-17")
    take_lift_off(rider.booking, by="participant", now=world.now)
    with pytest.raises(NotShared, match="adults"):
        say_lift(rider.booking, LiftWords("wants", 1, "x", "x", "phone"), by="participant", now=world.now)
    assert board_of(car).others == ()


def test_nothing_is_shared_unless_the_site_or_the_walk_says_so(world: World, client: Client) -> None:
    assert Site._meta.get_field("shares_lifts").default is False
    Site.objects.update(shares_lifts=False)
    with pytest.raises(NotShared, match="wants it"):
        say(world, "Ann", "offers")
    booking = Booking.objects.get()
    token = booking_link(booking, now=world.now)
    with time_machine.travel(world.now, tick=False):
        assert "Share a lift" not in client.get(reverse("booking_getting_there", args=[token])).text
        assert "does not want it" in client.get(reverse("booking_lifts", args=[token])).text
    set_arrivals(
        world.walk, own_car_spaces=None, own_most_dogs=None, own_shares_lifts=True, by=world.olive, now=world.now
    )
    assert may_share(booking, now=world.now)
    Site.objects.update(shares_lifts=True)
    set_arrivals(
        world.walk, own_car_spaces=None, own_most_dogs=None, own_shares_lifts=False, by=world.olive, now=world.now
    )
    assert not may_share(booking, now=world.now)


@pytest.mark.parametrize("driver_ends", [True, False])
def test_either_takes_back_one_lift_and_the_others_stay(world: World, client: Client, driver_ends: bool) -> None:
    car, rider, third = say(world, "Ann", "offers", 2), say(world, "Ben", "wants"), say(world, "Cat", "wants")
    agree(world, rider, car)
    agree(world, third, car)
    ends, left = (car, rider) if driver_ends else (rider, car)
    with time_machine.travel(world.now, tick=False):
        page = reverse("booking_lifts", args=[booking_link(ends.booking, now=world.now)])
        for _ in range(2):
            assert client.post(page, {"do": f"end {left.public_id}"}).status_code == 302
    assert "A lift has ended" in page_of(client, world, left)
    assert "FirstAnn" not in page_of(client, world, rider)
    assert "FirstBen" not in page_of(client, world, car)
    assert "FirstCat" in page_of(client, world, car)
    assert AuditLine.objects.filter(act="end agreed lift").count() == 1


def test_nobody_ends_a_lift_of_others(world: World) -> None:
    car, rider, third = say(world, "Ann", "offers", 2), say(world, "Ben", "wants"), say(world, "Cat", "wants")
    agree(world, rider, car)
    end_agreed(third.booking, rider.public_id, by="participant", now=world.now)
    assert LiftAsk.objects.get().state == "agreed"
    assert not LiftShare.objects.exclude(lost_at=None).exists()


def test_a_seat_taken_back_is_free_for_another(world: World) -> None:
    car, rider, third = say(world, "Ann", "offers"), say(world, "Ben", "wants"), say(world, "Cat", "wants")
    agree(world, rider, car)
    assert board_of(third).others == ()
    end_agreed(rider.booking, car.public_id, by="participant", now=world.now)
    agree(world, third, car)
    assert LiftAsk.objects.get(state="agreed").asker == third


def test_the_page_warns_before_anybody_says_anything(world: World, client: Client) -> None:
    token = booking_link(sell(world, "Ann"), now=world.now)
    with time_machine.travel(world.now, tick=False):
        page = words_of(client.get(reverse("booking_lifts", args=[token])).content)
    for words in ("strangers", "We check nobody", "Insurance is the driver", "Tell somebody", "owes no reason"):
        assert words in page


def test_a_cancelled_booking_ends_it_and_the_other_is_told(world: World, client: Client) -> None:
    car, rider = say(world, "Ann", "offers"), say(world, "Ben", "wants")
    agree(world, rider, car)
    cancel_booking(car.booking, by="participant", now=world.now)
    assert list(LiftShare.objects.all()) == [rider]
    page = page_of(client, world, rider)
    assert "A lift has ended" in page
    assert "01632 Ann" not in page


def test_a_party_that_has_no_adult_any_more_is_off_the_list(world: World) -> None:
    booking = book_places(world.order("adult", "13-17"), by="participant", now=world.now)
    car = say_lift(booking, LiftWords("offers", 1, "x", "x", "phone"), by="participant", now=world.now)
    agree(world, say(world, "Ben", "wants"), car)
    adult = booking.party.people.get(band="adult")
    wanted = PartyChange(remove=frozenset({adult.public_id}), guardian=False)
    terms = change_terms(booking, wanted, now=world.now)
    change_party(booking, wanted, terms=terms.mark, key=new_secret(), by="participant", now=world.now)
    assert not adults_of(booking)
    assert [one.lost_at for one in LiftShare.objects.all()] == [world.now]


def test_on_a_course_the_parties_agree_on_the_days(world: World, client: Client) -> None:
    days = [world.session(local_date=WALK_DAY + timedelta(days=day)) for day in (7, 14)]
    draft = schedule_walk(world.plan(*days, title="Course"), by=world.olive, now=world.now)
    course = publish_walk(draft, by=world.olive, now=world.now)
    booking = book_places(world.order(offering=course), by="participant", now=world.now)
    page = reverse("booking_lifts", args=[booking_link(booking, now=world.now)])
    with time_machine.travel(world.now, tick=False):
        assert "agree between you for which of its days" in client.get(page).text


def test_a_moved_booking_ends_it(world: World) -> None:
    car, rider = say(world, "Ann", "offers"), say(world, "Ben", "wants")
    agree(world, rider, car)
    to = another(world)
    terms = move_terms(car.booking, to, now=world.now)
    move_booking(car.booking, to, terms=terms.mark, key=new_secret(), by="participant", now=world.now)
    assert list(LiftShare.objects.all()) == [rider]
    rider.refresh_from_db()
    assert rider.lost_at == world.now


def test_a_walk_that_is_called_off_shows_nobody_any_more(world: World, client: Client) -> None:
    car, rider = say(world, "Ann", "offers"), say(world, "Ben", "wants")
    agree(world, rider, car)
    call_off_walk(world.offering, why="Storm.", by=world.olive, now=world.now)
    while erase_next_overdue(now=world.now):
        pass
    assert not LiftShare.objects.exists()


def test_the_last_seat_is_agreed_with_one_of_eight(real_world: World) -> None:
    world = real_world
    car = say(world, "Ann", "offers", 1)
    riders = [say(world, f"R{number}", "wants") for number in range(8)]
    for one in riders:
        ask_for_lift(one.booking, car.public_id, by="participant", now=world.now)
    answers = [
        partial(answer_lift, car.booking, one.public_id, agrees=True, by="participant", now=world.now) for one in riders
    ]
    outcomes = together(answers)
    assert Counter(one.kind for one in outcomes) == {"done": 1, "refused": 7}
    assert {one.words for one in outcomes if one.kind == "refused"} == {
        f"The seats do not suffice any more. {UNSEEN} Ask somebody else."
    }
    assert LiftAsk.objects.filter(state="agreed").count() == 1


def test_the_worker_erases_it_a_day_after_the_walk(world: World) -> None:
    agree(world, say(world, "Ben", "wants"), say(world, "Ann", "offers"))
    ended = world.walk.ends_at
    erase_next_overdue(now=ended + timedelta(hours=23))
    assert LiftShare.objects.count() == 2
    while erase_next_overdue(now=ended + timedelta(hours=24)):
        pass
    assert not LiftShare.objects.exists()
    assert not LiftAsk.objects.exists()
    assert AuditLine.objects.filter(act="erase a shared lift", actor="worker").count() == 2


def test_the_export_tells_of_it(world: World) -> None:
    share = say(world, "Ann", "offers", 3)
    (told,) = export_of(share.booking, (), booked=True, by=world.olive, now=world.now)["lifts"]
    assert told["from"] == "near Ann’s mill"
    assert told["first name"] == "FirstAnn"


def test_the_page_is_found_and_asks_for_an_adult(world: World, client: Client) -> None:
    token = booking_link(sell(world, "Ann"), now=world.now)
    page = reverse("booking_lifts", args=[token])
    said = {"send": "1", "kind": "offers", "seats": "2", "area": "north of the river", "first_name": "Ann"}
    with time_machine.travel(world.now, tick=False):
        assert page in client.get(reverse("booking_getting_there", args=[token])).text
        refused = client.post(page, said | {"shows": "phone"})
        assert refused.status_code == 422
        assert "north of the river" in refused.text
        assert not LiftShare.objects.exists()
        assert client.post(page, said | {"shows": "phone", "adult": "on"}).status_code == 302
        assert "north of the river" in client.get(page).text
        client.post(page, {"do": "off"})
    assert not LiftShare.objects.exists()
