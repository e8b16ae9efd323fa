"""Concessions, discount codes, deposits: shown before the sale, frozen at it, the same on pages and in the ledger."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
import time_machine
from django.test import Client
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from bookings.compute.prices import Deposit, Discount, deposit_due, discount_shares, price_list_from
from bookings.discounts import uses_of
from bookings.errors import NotBooked, NotIssued
from bookings.models import Booking, BookingLine, DiscountCode
from bookings.queries import balance, due
from bookings.services.book_places import book_places
from bookings.services.booking_link import booking_link
from bookings.services.cancel_booking import cancel_booking
from bookings.services.change_party import PartyChange, change_party, change_terms
from bookings.services.hold_places import hold_places
from bookings.services.keep_discount_code import Terms, end_discount_code, issue_discount_code
from bookings.services.move_booking import move_booking, move_terms
from bookings.services.record_payment import record_payment
from foraywright.floor.ids import new_secret
from foraywright.floor.models import PolicyVersion
from tests.cast import WALK_DAY, World
from tests.conftest import NOW
from tests.pages import say_yes, signed_in
from walks.models import Offering
from walks.queries import slug_of
from walks.services.publish_walk import publish_walk
from walks.services.schedule_walk import schedule_walk

database = pytest.mark.database
CONCESSION = {"key": "student", "label": "student", "show": "a student card", "band": "adult", "price": 1000}
BODY = {"currency": "GBP", "vat_basis_points": 2000, "by_band": {"adult": 1800, "4-8": 900}}


@pytest.fixture
def world_with_lower_prices(world: World) -> World:
    before = world.offering.prices
    body = before.body | {"concessions": [CONCESSION], "deposit": {"percent": 25, "rest_days": 10}}
    policy = PolicyVersion.objects.create(kind=before.kind, number=2, body=body, source="the cast", since=world.now)
    Offering.objects.update(prices=policy)
    world.offering.refresh_from_db()
    return world


def issue(world: World, **changes: object) -> DiscountCode:
    today = world.now.date()
    values = {"code": "early bird", "label": "Early", "first_day": today, "last_day": today + timedelta(days=9)}
    return issue_discount_code(Terms(**(values | {"percent": 10} | changes)), by=world.olive, now=world.now)  # type: ignore[arg-type]


def book(world: World, *bands: str, **changes: object) -> Booking:
    return book_places(world.order(*bands, **changes), by="participant", now=world.now)


@given(
    st.lists(st.integers(0, 20000), max_size=12),
    st.one_of(st.builds(Discount, percent=st.integers(1, 100)), st.builds(Discount, amount=st.integers(1, 90000))),
)
def test_shares_add_up_to_the_discount_and_none_is_more_than_its_price(prices: list[int], discount: Discount) -> None:
    shares = discount_shares(prices, discount)
    assert sum(shares) == discount.off(sum(prices))
    assert all(0 <= share <= price for share, price in zip(shares, prices, strict=True))


@pytest.mark.parametrize(
    "wrong",
    [
        {"concessions": [CONCESSION | {"price": 1801}]},
        {"concessions": [CONCESSION | {"price": -1}]},
        {"deposit": {"percent": 100, "rest_days": 10}},
        {"deposit": {"percent": 20, "rest_days": -1}},
    ],
)
def test_a_price_list_that_cannot_be_meant_is_refused(wrong: dict[str, object]) -> None:
    with pytest.raises(ValueError, match=r"concession|price|deposit"):
        price_list_from(BODY | wrong)


def test_a_deposit_is_asked_only_while_the_rest_is_still_to_come() -> None:
    deposit = Deposit(25, 10)
    assert deposit_due(3601, deposit, today=date(2026, 5, 1), walk_day=date(2026, 5, 12)) == (900, date(2026, 5, 2))
    assert deposit_due(3601, deposit, today=date(2026, 5, 2), walk_day=date(2026, 5, 12)) is None
    assert deposit_due(3601, None, today=date(2026, 5, 1), walk_day=date(2026, 5, 12)) is None


@database
def test_concession_discount_and_tax_are_frozen_on_the_lines(world_with_lower_prices: World) -> None:
    world = world_with_lower_prices
    issue(world)
    booking = book(world, "adult", "adult", "4-8", concessions=("", "student", ""), discount=" Early Bird ")
    lines = list(booking.lines.order_by("pk"))
    assert [(one.concession, one.price_minor, one.discount_minor) for one in lines] == [
        ("", 1800, 180),
        ("student", 1000, 100),
        ("", 900, 90),
    ]
    assert [one.vat_minor for one in lines] == [270, 150, 135]
    assert balance(booking) == due(booking) == 3330
    DiscountCode.objects.update(percent=50)
    assert due(booking) == 3330


@database
def test_a_concession_that_the_list_has_not_costs_the_full_price(world: World) -> None:
    assert due(book(world, "adult", concessions=("student",))) == 1800


@database
@pytest.mark.parametrize(
    ("changes", "days", "why"),
    [
        ({}, 10, "It is over."),
        ({}, -1, "It holds from"),
        ({"most_uses": 1}, 0, "as often as it may be"),
        ({"offering": "another"}, 0, "another walk"),
    ],
)
def test_a_code_that_does_not_hold_sells_nothing(world: World, changes: dict[str, object], days: int, why: str) -> None:
    if changes.get("offering"):
        other = schedule_walk(
            world.plan(world.session(local_date=WALK_DAY + timedelta(days=7))), by=world.olive, now=world.now
        )
        changes = {"offering": other}
    issue(world, **changes)
    if changes.get("most_uses"):
        book(world, discount="earlybird")
    before = Booking.objects.count()
    with pytest.raises(NotBooked, match=why):
        book_places(world.order(discount="EARLYBIRD"), by="participant", now=world.now + timedelta(days=days))
    assert Booking.objects.count() == before


@database
def test_a_cancelled_booking_gives_its_use_back(world: World) -> None:
    issue(world, most_uses=1)
    cancel_booking(book(world, discount="EARLYBIRD"), by="participant", now=world.now)
    assert due(book(world, discount="EARLYBIRD")) == 3240


@database
def test_who_waits_after_paying_too_late_keeps_the_use_of_their_code(world: World) -> None:
    code = issue(world, most_uses=1)
    late = hold_places(world.order(discount="EARLYBIRD"), by="participant", now=world.now)
    after = world.now + timedelta(hours=1)
    book_places(world.order(*["adult"] * 12), by="participant", now=after)
    assert uses_of(code, now=after) == 0
    record_payment(late, into="bank", amount_minor=3240, by=world.olive, now=after)
    late.refresh_from_db()
    assert (late.state, uses_of(code, now=after)) == (Booking.State.WAITING, 1)


@database
def test_late_money_buys_at_the_price_of_its_hold_though_the_code_is_used_up(world: World) -> None:
    code = issue(world, most_uses=1)
    late = hold_places(world.order(discount="EARLYBIRD"), by="participant", now=world.now)
    after = world.now + timedelta(hours=1)
    book_places(world.order(discount="EARLYBIRD"), by="participant", now=after)
    record_payment(late, into="bank", amount_minor=3240, by=world.olive, now=after)
    late.refresh_from_db()
    assert (late.state, balance(late), uses_of(code, now=after)) == (Booking.State.CONFIRMED, 0, 2)


@database
def test_an_ended_code_is_refused_and_who_used_it_keeps_what_it_gave(world: World) -> None:
    code = issue(world, percent=0, amount_minor=500)
    booking = book(world, discount="EARLYBIRD")
    end_discount_code(code, by=world.olive, now=world.now)
    assert due(booking) == 3100
    with pytest.raises(NotBooked, match="It is over"):
        book(world, discount="EARLYBIRD")


@database
@pytest.mark.parametrize(
    "changes", [{"percent": 0}, {"amount_minor": 5}, {"percent": 101}, {"code": "a-b"}, {"most_uses": 0}]
)
def test_a_code_that_says_nothing_or_two_things_is_not_issued(world: World, changes: dict[str, object]) -> None:
    with pytest.raises(NotIssued):
        issue(world, **changes)
    assert not DiscountCode.objects.exists()


@database
def test_a_move_takes_concession_and_discount_along(world_with_lower_prices: World) -> None:
    world = world_with_lower_prices
    issue(world)
    booking = book(world, "adult", "adult", concessions=("student", ""), discount="EARLYBIRD")
    draft = schedule_walk(
        world.plan(world.session(local_date=WALK_DAY + timedelta(days=7)), prices=world.offering.prices),
        by=world.olive,
        now=world.now,
    )
    to = publish_walk(draft, by=world.olive, now=world.now)
    terms = move_terms(booking, to, now=world.now)
    move_booking(booking, to, terms=terms.mark, key=new_secret(), by="participant", now=world.now)
    assert terms.after == terms.before == 2520
    assert balance(booking) == 2520
    running = BookingLine.objects.filter(booking=booking, ended_at=None)
    assert sorted(running.values_list("concession", "discount_minor")) == [("", 180), ("student", 100)]


@database
def test_who_left_takes_along_their_share_of_an_amount_when_the_others_move(world: World) -> None:
    issue(world, percent=0, amount_minor=1000)
    booking = book(world, "adult", "adult", discount="EARLYBIRD")
    leaves = PartyChange(remove=frozenset({booking.party.people.latest("pk").public_id}))
    terms = change_terms(booking, leaves, now=world.now)
    change_party(booking, leaves, terms=terms.mark, key=new_secret(), by="participant", now=world.now)
    draft = schedule_walk(world.plan(world.session(local_date=WALK_DAY + timedelta(days=7))), by=world.olive, now=NOW)
    assert move_terms(booking, publish_walk(draft, by=world.olive, now=NOW), now=world.now).after == 1800 - 500


def form_data(world: World, **changes: object) -> dict[str, object]:
    data = {"name": "Pat", "email": "pat@example.org", "adults": "2", "rules": "on", "key": new_secret()}
    return data | changes


@database
@time_machine.travel(NOW, tick=False)
def test_the_price_is_shown_before_anything_else_is_filled_in(world_with_lower_prices: World, client: Client) -> None:
    world = world_with_lower_prices
    issue(world)
    address = reverse("book", args=[slug_of(world.offering.public_id)])
    asked = {"adults": "2", "at_student": "1", "discount": "early bird", "price": "", "key": new_secret()}
    page = client.post(address, asked)
    assert page.status_code == 200
    assert page.context["quote"].to_pay == 2520
    assert "£25.20" in page.content.decode()
    assert "Write your name" not in page.content.decode()
    assert not Booking.objects.exists()
    wrong = client.post(address, asked | {"discount": "LATE"})
    assert "“LATE” is no discount code of ours" in wrong.content.decode()
    many = client.post(address, asked | {"at_student": "3"})
    assert "You wrote 3, and your party has 2 of that age for it." in many.content.decode()


@database
@time_machine.travel(NOW, tick=False)
def test_what_was_shown_is_what_is_sold(world_with_lower_prices: World, client: Client) -> None:
    world = world_with_lower_prices
    issue(world)
    address = reverse("book", args=[slug_of(world.offering.public_id)])
    answer = client.post(address, form_data(world, at_student="1", discount="EARLYBIRD"))
    assert answer.status_code == 302
    assert balance(Booking.objects.get()) == 2520


@database
@time_machine.travel(NOW, tick=False)
def test_the_booking_page_asks_for_the_deposit_then_for_the_rest(world_with_lower_prices: World) -> None:
    world = world_with_lower_prices
    booking = book(world)
    page = reverse("booking_page", args=[booking_link(booking, now=world.now)])
    assert "Now the deposit: <strong>£9.00</strong>" in Client().get(page).content.decode()
    record_payment(booking, into="bank", amount_minor=900, by=world.olive, now=world.now)
    assert "The deposit is paid; now the rest." in Client().get(page).content.decode()


@database
@time_machine.travel(NOW, tick=False)
def test_the_office_issues_and_ends_a_code(world: World) -> None:
    office, page = signed_in(world.olive), reverse("staff_discounts")
    days = {"first_day": "2026-01-01", "last_day": "2026-12-31"}
    assert office.post(page, {"code": "spring", "label": "Spring", "amount": "5.00"} | days).status_code == 302
    code = DiscountCode.objects.get(code="SPRING")
    assert (code.amount_minor, code.percent) == (500, 0)
    assert "£5.00" in office.get(page).content.decode()
    twice = office.post(page, {"code": "Spring", "label": "Again", "percent": "5"} | days)
    assert twice.status_code == 422
    endless = {"code": "ENDLESS", "label": "x", "percent": "5", "most_uses": "1" + "0" * 30}
    assert office.post(page, endless | days).status_code == 422
    assert "There is a code SPRING already" in twice.content.decode()
    say_yes(office, reverse("staff_discount_end", args=[code.public_id]))
    code.refresh_from_db()
    assert code.ended_at is not None
