"""Selling places: what a sale writes, and every reason why there is none."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta

import pytest

from bookings.errors import NotBooked
from bookings.models import Booking, BookingLine, Contact, OutboxMessage, Party, Person, Place, Transfer
from bookings.queries import balance, statement_of
from bookings.services.book_places import book_places
from bookings.services.call_off_walk import call_off_walk
from bookings.services.cancel_booking import cancel_booking
from bookings.services.hold_places import hold_places
from bookings.services.selling import pay_by
from foraywright.floor.compute.short_codes import read_short_code
from foraywright.floor.models import AuditLine
from tests.cast import WALK_DAY, World
from walks.models import GuideCertificate, LandownersPermission, Offering, Walk, WalkGuide
from walks.services.publish_walk import publish_walk
from walks.services.schedule_walk import schedule_walk

pytestmark = pytest.mark.database
ROWS = (Contact, Party, Person, Booking, BookingLine, Place, Transfer, OutboxMessage, AuditLine)
NOTHING = "Nothing is owed and no place was taken."


def refusal(world: World, *bands: str, **changes: object) -> NotBooked:
    """What an order is refused with; it may leave nothing behind."""
    now = changes.pop("now", world.now)
    before = [model.objects.count() for model in ROWS]
    with pytest.raises(NotBooked) as refused:
        book_places(world.order(*bands, **changes), by="participant", now=now)
    assert [model.objects.count() for model in ROWS] == before
    taken = Place.objects.filter(walk=world.walk, given_back_at=None)
    assert Walk.objects.get(pk=world.walk.pk).places_taken_shown == taken.count()
    return refused.value


def test_a_sale_writes_places_lines_money_letter_and_audit(world: World) -> None:
    order = world.order("adult", "4-8", "13-17", names=("Pat Partridge", "Mia"))
    booking = book_places(order, by="participant", now=world.now)
    assert (booking.state, booking.booked_at, booking.version) == (Booking.State.CONFIRMED, world.now, 1)
    assert read_short_code(booking.code) == booking.code
    people = list(booking.party.people.order_by("pk").values_list("name", "band", "youngest_age"))
    assert people == [("Pat Partridge", "adult", 18), ("Mia", "4-8", 4), ("", "13-17", 13)]
    assert booking.places.filter(walk=world.walk, given_back_at=None).count() == 3
    lines = list(booking.lines.order_by("pk").values_list("label", "price_minor", "currency", "vat_basis_points"))
    assert lines == [("adult", 1800, "GBP", 2000), ("4-8", 900, "GBP", 2000), ("13-17", 1200, "GBP", 2000)]
    (sale,) = booking.transfers.all()
    assert (sale.kind, sale.debit.key, sale.credit.key, sale.amount_minor) == (
        "sale",
        "receivable",
        "deferred_income",
        3900,
    )
    assert OutboxMessage.objects.get(booking=booking).kind == OutboxMessage.Kind.CONFIRMATION
    line = AuditLine.objects.get(act="book places")
    assert (line.actor, line.object_id, line.fields) == ("participant", booking.public_id, ["party", "places"])
    assert Walk.objects.get().places_taken_shown == 3


def test_names_stay_with_those_they_were_given_for(world: World) -> None:
    order = world.order("9-12", "adult", "4-8", names=("Nora", "Mo", "Mia"))
    people = book_places(order, by="participant", now=world.now).party.people.order_by("pk")
    assert list(people.values_list("name", "band")) == [("Mo", "adult"), ("Nora", "9-12"), ("Mia", "4-8")]


def test_the_first_adult_is_in_charge_only_where_the_party_says_so(world: World) -> None:
    for guardian in (True, False):
        order = world.order("adult", "adult", "4-8", guardian=guardian)
        adult, _, child = book_places(order, by="participant", now=world.now).party.people.order_by("pk")
        assert child.guardian == (adult if guardian else None)


def test_a_party_of_children_alone_has_no_guardian(world: World) -> None:
    child = book_places(world.order("9-12"), by="participant", now=world.now).party.people.get()
    assert child.guardian is None


@pytest.mark.parametrize(
    ("number", "reason"),
    [
        (0, "A party needs at least one person. Say how many are coming."),
        (31, "You asked for 31 places; a party has at most 30. Write to us for more."),
        (10_000, "You asked for 10000 places; a party has at most 30. Write to us for more."),
    ],
)
def test_a_party_of_nobody_or_of_a_crowd(world: World, number: int, reason: str) -> None:
    order = world.order(*["adult"] * number)
    object.__setattr__(order, "bands", ("adult",) * number)
    with pytest.raises(NotBooked) as refused:
        book_places(order, by="participant", now=world.now)
    assert refused.value.sentence == f"Not booked. {reason} {NOTHING}"
    assert not Booking.objects.exists()


def test_an_unknown_band(world: World) -> None:
    assert refusal(world, "adult", "giant").sentence == "Not booked. “giant” is no age band. Nothing is owed."


def test_the_last_places_and_one_more(world: World) -> None:
    book_places(world.order(*["adult"] * 10), by="participant", now=world.now)
    full = refusal(world, *["adult"] * 3)
    assert full.sentence == (
        "Not booked: there is no room for your party of 3 on Saturday 3 October. The landowner's permission allows "
        "14 people, staff included; 12 are coming; 2 places remain. Nothing is owed and no place was taken. "
        "2 of your party would fit: book for 2, or choose another walk."
    )
    assert (full.would_fit, full.code) == (2, "not_booked")
    book_places(world.order("adult", "adult"), by="participant", now=world.now)
    full = refusal(world, "adult")
    assert full.now == "Choose another walk, or ask us."
    assert full.why == (
        "The landowner's permission allows 14 people, staff included; 14 are coming; no place remains.",
    )


def test_given_back_places_are_free_at_once(world: World) -> None:
    booking = book_places(world.order(*["adult"] * 12), by="participant", now=world.now)
    cancel_booking(booking, by="participant", now=world.now)
    assert book_places(world.order(*["adult"] * 12), by="participant", now=world.now).pk


def test_a_hold_counts_until_it_is_over(world: World) -> None:
    hold_places(world.order(*["adult"] * 12), by="participant", now=world.now)
    assert refusal(world, "adult", now=world.now + timedelta(minutes=20, seconds=-1)).would_fit == 0
    assert book_places(world.order("adult"), by="participant", now=world.now + timedelta(minutes=20)).pk


def test_each_limit_binds_where_it_is_the_tightest(world: World) -> None:
    permission = LandownersPermission.objects
    for most, fits in ((5, 3), (2, 0)):
        permission.update(most_people=most)
        assert refusal(world, *["adult"] * 4).would_fit == fits
    permission.update(most_people=100)
    world.wood.most_people = 6
    world.wood.save()
    assert refusal(world, *["adult"] * 5).why == (
        "The site allows 6 people, staff included; 2 are coming; 4 places remain.",
    )
    world.wood.most_people = 100
    world.wood.save()
    assert refusal(world, *["adult"] * 17).why == (
        "The insurance allows 16 people; nobody is coming; 16 places remain.",
    )
    world.gwen.largest_group = world.harry.largest_group = 4
    world.gwen.save()
    world.harry.save()
    assert refusal(world, *["adult"] * 9).why == (
        "The number of guides allows 8 people; nobody is coming; 8 places remain.",
    )


POOL = (
    "The children whom no guardian of their own party looks after need, of our staff with a background check, {need}; "
    "{come}."
)


def test_children_whom_nobody_looks_after_need_our_own_checked_staff(world: World) -> None:
    assert refusal(world, *["4-8"] * 7).why == (POOL.format(need="2 adults", come="1 is coming"),)
    book_places(world.order(*["4-8"] * 6), by="participant", now=world.now)
    GuideCertificate.objects.filter(kind="background_check").update(valid_to=WALK_DAY - timedelta(days=1))
    assert POOL.format(need="2 adults", come="nobody is coming") in refusal(world, "4-8").why


def test_a_guardian_in_charge_makes_room_that_the_pool_has_not(world: World) -> None:
    family = ("adult", *["4-8"] * 5)
    book_places(world.order(*family, guardian=False), by="participant", now=world.now)
    without = refusal(world, *family, guardian=False)
    assert without.why == (POOL.format(need="2 adults", come="1 is coming"),)
    assert without.would_fit == 2
    assert book_places(world.order(*family, guardian=True), by="participant", now=world.now).pk
    assert statement_of(world.walk, now=world.now).refusals == ()


def test_beyond_the_ratio_of_a_guardian_children_join_the_pool(world: World) -> None:
    WalkGuide.objects.filter(guide=world.gwen).delete()
    family = ("adult", *["2-3"] * 4)
    assert refusal(world, *family, "2-3").why == (POOL.format(need="1 adult", come="nobody is coming"),)
    assert book_places(world.order(*family), by="participant", now=world.now).pk


def test_with_one_guide_children_alone_are_too_few_adults(world: World) -> None:
    WalkGuide.objects.filter(guide=world.harry).delete()
    assert refusal(world, "9-12").why == (
        "With a child on the walk, staff and guardians in charge together must be 2 adults; 1 is coming.",
    )
    assert book_places(world.order("adult", "9-12"), by="participant", now=world.now).pk


def test_a_called_off_walk_and_a_draft(world: World) -> None:
    call_off_walk(world.offering, why="Storm.", by=world.olive, now=world.now)
    assert refusal(world).sentence == f"Not booked. This walk has been called off. {NOTHING}"
    draft = schedule_walk(world.plan(), by=world.olive, now=world.now)
    assert refusal(world, offering=draft).sentence == f"Not booked. This walk is not open for booking. {NOTHING}"


def test_a_walk_that_has_begun(world: World) -> None:
    start = world.walk.starts_at
    assert refusal(world, now=start).sentence == f"Not booked. This walk has begun or is over. {NOTHING}"
    assert refusal(world, now=start + timedelta(days=1)).why == ("This walk has begun or is over.",)
    assert book_places(world.order(), by="participant", now=start - timedelta(seconds=1)).pk


def test_the_same_key_again_is_the_same_booking_even_when_full_or_over(world: World) -> None:
    order = world.order(*["adult"] * 12)
    first = book_places(order, by="participant", now=world.now)
    for now in (world.now + timedelta(seconds=1), world.walk.ends_at):
        assert book_places(order, by="participant", now=now).pk == first.pk
    counted = Counter(model.__name__ for model in ROWS for _ in model.objects.filter(pk__gt=0))
    assert (counted["Booking"], counted["Transfer"], counted["OutboxMessage"]) == (1, 1, 1)


def test_a_course_takes_a_place_on_each_session_and_its_fullest_session_binds(world: World) -> None:
    days = [WALK_DAY + timedelta(weeks=week) for week in (1, 2)]
    pair = (world.gwen, world.harry)
    plan = world.plan(*(world.session(local_date=day, guides=pair) for day in days), title="Two mornings")
    course = publish_walk(schedule_walk(plan, by=world.olive, now=world.now), by=world.olive, now=world.now)
    booking = book_places(world.order(offering=course), by="participant", now=world.now)
    assert booking.places.count() == 4
    assert balance(booking) == 3600
    WalkGuide.objects.filter(walk=course.walks.last(), guide=world.harry).delete()
    LandownersPermission.objects.update(most_people=100)
    world.gwen.largest_group = 3
    world.gwen.save()
    assert refusal(world, "adult", "adult", offering=course).happened == (
        "Not booked: there is no room for your party of 2 on Saturday 17 October."
    )


@pytest.mark.parametrize(
    ("days_before", "pay_days_before"),
    [(19, 12), (10, 3), (9, 3), (4, 3), (3, None), (0, None)],
)
def test_the_last_day_to_pay(world: World, days_before: int, pay_days_before: int | None) -> None:
    now = world.walk.starts_at - timedelta(days=days_before, hours=1)
    expected = None if pay_days_before is None else WALK_DAY - timedelta(days=pay_days_before)
    assert pay_by(world.walk, now=now) == expected


def test_the_last_day_to_pay_is_a_day_at_the_site(world: World) -> None:
    walk = world.walk
    late = world.now.replace(hour=23, minute=30)
    assert pay_by(walk, now=late) == date(2026, 9, 22)
    walk.zone = "UTC"
    assert pay_by(walk, now=late) == date(2026, 9, 21)


def test_prices_are_frozen_at_the_sale(world: World) -> None:
    booking = book_places(world.order(), by="participant", now=world.now)
    assert {line.prices for line in booking.lines.all()} == {Offering.objects.get(pk=world.offering.pk).prices}
    assert {line.refunds for line in booking.lines.all()} == {world.offering.refunds}
