"""Vouchers: money in, tax at issue or at use, money back on the voucher, and never spent twice."""

from __future__ import annotations

from collections import Counter
from datetime import timedelta
from pathlib import Path

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from bookings.errors import NotChosen, NotIssued, NotPaidByVoucher
from bookings.letters import letter
from bookings.models import Booking, CallOffChoice, OutboxMessage, Transfer, Voucher
from bookings.queries import awaiting_choice, balance, coming_back, means_of, paid, refund_due
from bookings.services.book_places import book_places
from bookings.services.booking_link import booking_link
from bookings.services.call_off_walk import call_off_walk
from bookings.services.cancel_booking import cancel_booking
from bookings.services.choose_after_call_off import choose_refund, choose_voucher
from bookings.services.hold_places import hold_places
from bookings.services.issue_voucher import issue_voucher
from bookings.services.lapse_holds import lapse_next_hold
from bookings.services.pay_by_voucher import pay_by_voucher
from bookings.services.record_payment import record_payment
from bookings.voucher_print import voucher_html
from bookings.vouchers import left_on
from curriculum.models import AccountVersion, SignOff
from curriculum.services.load_starter import load_starter
from foraywright.floor.compute.short_codes import new_short_code, spoken
from foraywright.floor.ids import new_secret
from foraywright.floor.models import Business, PolicyVersion
from tests.cast import WALK_DAY, World
from tests.conftest import NOW
from tests.curriculum.garlic import garlic_files
from tests.pages import say_yes, signed_in
from walks.models import Offering
from walks.queries import slug_of
from walks.services.publish_walk import publish_walk
from walks.services.schedule_walk import schedule_walk

pytestmark = pytest.mark.database


def sell(world: World, value: int = 5000, **changes: object) -> Voucher:
    values = {"value_minor": value, "into": "cash", "key": new_secret()} | changes
    return issue_voucher(**values, by=world.olive, now=world.now)  # type: ignore[arg-type]


def book(world: World, *bands: str) -> Booking:
    return book_places(world.order(*bands), by="participant", now=world.now)


def sums() -> Counter[str]:
    """Debits less credits by account."""
    found: Counter[str] = Counter()
    for debit, credit, amount in Transfer.objects.values_list("debit__key", "credit__key", "amount_minor"):
        found[debit] += amount
        found[credit] -= amount
    return found


def pay(booking: Booking, voucher: Voucher, world: World) -> int:
    return pay_by_voucher(booking, voucher.code, by="participant", now=world.now)


def test_a_single_purpose_voucher_owes_its_tax_from_the_issue_on(world: World) -> None:
    voucher = sell(world, 6000)
    assert voucher.vat_basis_points == 2000
    assert (left_on(voucher), sums()["cash"], sums()["vouchers_out"]) == (6000, 6000, -6000)
    assert (sums()["vat"], sums()["voucher_tax"]) == (-1000, 1000)


def test_with_two_rates_on_sale_a_voucher_is_multi_purpose_and_untaxed(world: World) -> None:
    before = world.offering.prices
    body = before.body | {"vat_basis_points": 0}
    other = PolicyVersion.objects.create(kind=before.kind, number=2, body=body, source="the cast", since=world.now)
    session = world.session(local_date=WALK_DAY + timedelta(days=7))
    draft = schedule_walk(world.plan(session, prices=other), by=world.olive, now=world.now)
    publish_walk(draft, by=world.olive, now=world.now)
    voucher = sell(world)
    assert voucher.vat_basis_points is None
    assert sums()["vat"] == 0


def test_the_same_form_twice_is_one_voucher(world: World) -> None:
    first, again = sell(world, key="a-form"), sell(world, key="a-form")
    assert first == again
    assert sums()["cash"] == 5000


@pytest.mark.parametrize("changes", [{"value_minor": 0}, {"value_minor": 100_001}, {"into": "card"}])
def test_what_is_no_voucher_is_refused_and_no_money_is_noted(world: World, changes: dict[str, object]) -> None:
    with pytest.raises(NotIssued):
        sell(world, **changes)
    assert not Transfer.objects.exists()


def test_a_voucher_pays_as_far_as_it_reaches_and_the_rest_is_owed(world: World) -> None:
    voucher, booking = sell(world, 5000), book(world)
    assert pay(booking, voucher, world) == 3600
    assert (balance(booking), paid(booking), left_on(voucher)) == (0, 3600, 1400)
    second = book(world)
    assert pay(second, voucher, world) == 1400
    assert (balance(second), left_on(voucher)) == (2200, 0)
    with pytest.raises(NotPaidByVoucher, match="Nothing is left on it"):
        pay(second, voucher, world)


def test_a_voucher_that_pays_all_confirms_a_hold(world: World) -> None:
    voucher, booking = sell(world), hold_places(world.order(), by="participant", now=world.now)
    pay(booking, voucher, world)
    booking.refresh_from_db()
    assert booking.state == Booking.State.CONFIRMED


def test_what_a_voucher_paid_for_a_hold_that_lapses_is_on_it_again(world: World) -> None:
    voucher, booking = sell(world, 1000), hold_places(world.order(), by="participant", now=world.now)
    pay(booking, voucher, world)
    lapse_next_hold(now=world.now + timedelta(minutes=30))
    assert (left_on(voucher), coming_back(booking), paid(booking)) == (1000, 0, 0)


@pytest.mark.parametrize(
    ("wrong", "why"),
    [("unknown", "no voucher of ours"), ("over", "It was good until"), ("rate", "another rate"), ("money", "currency")],
)
def test_a_voucher_that_does_not_hold_pays_nothing(world: World, wrong: str, why: str) -> None:
    voucher, booking = sell(world), book(world)
    changes = {"over": {"valid_to": NOW.date() - timedelta(days=1)}, "rate": {"vat_basis_points": 0}}
    changes |= {"money": {"currency": "EUR"}, "unknown": {"code": new_short_code()}}
    Voucher.objects.filter(pk=voucher.pk).update(**changes[wrong])
    with pytest.raises(NotPaidByVoucher, match=why):
        pay(booking, voucher, world)
    assert (balance(booking), left_on(voucher)) == (3600, 5000)


def test_a_refund_goes_back_newest_first_and_the_vouchers_part_onto_the_voucher(world: World) -> None:
    voucher, booking = sell(world, 2000), book(world)
    pay(booking, voucher, world)
    Voucher.objects.update(valid_to=world.now.date())
    later = world.now + timedelta(hours=1)
    record_payment(booking, into="bank", amount_minor=1600, by=world.olive, now=later)
    cancel_booking(booking, by="participant", now=later)
    assert (refund_due(booking), left_on(voucher)) == (1600, 2000)
    assert means_of(booking) == [("bank", 1600)]
    voucher.refresh_from_db()
    assert voucher.valid_to >= (later + timedelta(days=365)).date()


def test_of_two_vouchers_the_newer_gets_back_what_comes_back_and_the_older_nothing(world: World) -> None:
    booking = book(world, "adult", "adult")
    older, newer = sell(world, 1800), sell(world, 1800)
    for voucher in (older, newer):
        pay(booking, voucher, world)
    # Half comes back from fourteen to seven days before.
    cancel_booking(booking, by="participant", now=world.walk.starts_at - timedelta(days=10))
    assert (left_on(newer), left_on(older), refund_due(booking)) == (1800, 0, 0)


def called_off(world: World, *, voucher: int = 0, cash: int = 0) -> Booking:
    booking = book(world)
    if voucher:
        pay(booking, sell(world, voucher), world)
    if cash:
        record_payment(booking, into="cash", amount_minor=cash, by=world.olive, now=world.now)
    call_off_walk(world.offering, why="storm", by=world.olive, now=world.now)
    return booking


def test_after_a_call_off_a_voucher_can_be_chosen_once(world: World) -> None:
    booking = called_off(world, cash=3600)
    for _ in range(2):
        choose_voucher(booking, by="participant", now=world.now)
    chosen = booking.vouchers.get()
    assert (chosen.value_minor, left_on(chosen)) == (3600, 3600)
    assert (awaiting_choice(booking), coming_back(booking)) == (0, 0)
    assert CallOffChoice.objects.get().choice == "voucher"
    with pytest.raises(NotChosen):
        choose_refund(booking, by="participant", now=world.now)
    assert (sums()["vouchers_out"], sums()["vat"]) == (-3600, -600)


def test_the_tax_of_a_voucher_that_replaces_a_voucher_is_owed_once(world: World) -> None:
    booking = called_off(world, voucher=2400, cash=1200)
    assert sums()["vat"] == -400
    choose_voucher(booking, by="participant", now=world.now)
    assert (sums()["vat"], sums()["vouchers_out"]) == (-600, -3600)


def test_money_back_after_a_call_off_puts_the_vouchers_part_on_it_again(world: World) -> None:
    booking = called_off(world, voucher=2400, cash=1200)
    choose_refund(booking, by="participant", now=world.now)
    assert refund_due(booking) == 1200
    assert left_on(Voucher.objects.get()) == 2400


@time_machine.travel(NOW, tick=False)
def test_a_guide_sells_one_where_we_meet_and_sees_no_list(world: World) -> None:
    sell(world)
    guide, page = signed_in(world.gwen.user), reverse("staff_vouchers")
    assert "Vouchers sold" not in guide.get(page).content.decode()
    assert "Vouchers sold" in signed_in(world.olive).get(page).content.decode()
    answer = guide.post(page, {"key": new_secret(), "value": "25", "into": "cash"}, follow=True)
    sold = Voucher.objects.latest("pk")
    assert sold.value_minor == 2500
    assert spoken(sold.code) in answer.content.decode()
    assert guide.post(page, {"key": new_secret(), "value": "25", "into": "bank"}).status_code == 422


def test_the_paper_says_code_worth_last_day_and_tax_where_there_is_any(world: World) -> None:
    voucher = sell(world)
    assert "value added tax" not in voucher_html(voucher)
    Business.objects.update(vat_number="GB 000 0000 00")
    page = voucher_html(voucher)
    for words in (spoken(voucher.code), "£50.00", "14 September 2028", "Single-purpose voucher"):
        assert words in page


def test_the_paper_shows_what_is_taught_and_never_a_danger(world: World, tmp_path: Path) -> None:
    load_starter(garlic_files(tmp_path), by="command", now=NOW)
    assert "<svg" not in voucher_html(sell(world))
    for version in AccountVersion.objects.all():
        SignOff.objects.create(
            version=version, reviewer=world.rosa, kind="reviewed", signed_at=NOW, review_by=WALK_DAY, rules_version=1
        )
    pages = [voucher_html(sell(world)) for _ in range(8)]
    assert SignOff.objects.count() == 4
    assert all("Wild Garlic, drawn from what is recorded of it." in one and "<svg" in one for one in pages)


@time_machine.travel(NOW, tick=False)
def test_a_party_pays_with_a_voucher_on_the_form_after_it_saw_the_price(world: World, client: Client) -> None:
    voucher = sell(world, 2000)
    address = reverse("book", args=[slug_of(world.offering.public_id)])
    data = {"name": "Pat", "email": "pat@example.org", "adults": "2", "rules": "on", "key": new_secret()}
    data["voucher"] = spoken(voucher.code).lower()
    shown = client.post(address, data | {"price": ""}).content.decode()
    assert "Your voucher pays £20.00 of it, and £16.00 is left to pay." in shown
    assert not Booking.objects.exists()
    wrong = client.post(address, data | {"voucher": "K7M4QXA"})
    assert wrong.status_code == 422
    assert not Booking.objects.exists()
    assert client.post(address, data).status_code == 302
    assert (balance(Booking.objects.get()), left_on(voucher)) == (1600, 0)


@time_machine.travel(NOW, tick=False)
def test_a_party_pays_with_a_voucher_on_its_page_and_guesses_are_counted(world: World, client: Client) -> None:
    voucher, booking = sell(world), book(world)
    token = booking_link(booking, now=world.now)
    address = reverse("booking_pay_by_voucher", args=[token])
    page = client.post(address, {"voucher": voucher.code}, follow=True).content.decode()
    assert "The voucher paid £36.00." in page
    for _ in range(20):
        client.post(address, {"voucher": new_short_code()})
    assert "too often" in client.post(address, {"voucher": new_short_code()}, follow=True).content.decode()


@time_machine.travel(NOW, tick=False)
def test_a_party_chooses_a_voucher_on_its_page_and_finds_it_there(world: World, client: Client) -> None:
    booking = called_off(world, cash=3600)
    token = booking_link(booking, now=world.now)
    assert "A voucher for all of it" in client.get(reverse("booking_page", args=[token])).content.decode()
    page = say_yes(client, reverse("booking_choose_voucher", args=[token]), follow=True).content.decode()
    chosen = booking.vouchers.get()
    assert spoken(chosen.code) in page
    assert reverse("booking_voucher", args=[token, chosen.public_id]) in page
    other = sell(world)
    assert client.get(reverse("booking_voucher", args=[token, other.public_id])).status_code == 404


def test_the_letter_names_all_three_choices(world: World) -> None:
    booking = called_off(world, cash=3600)
    mail = letter(OutboxMessage.objects.get(booking=booking, kind="called_off"), now=world.now)
    for form in (mail.body, mail.alternatives[0][0]):
        assert "take the money back, move to another walk that it pays for, or take a voucher for all of it" in form


def test_with_nothing_on_sale_the_newest_prices_say_how_a_voucher_is_taxed(world: World) -> None:
    Offering.objects.update(state=Offering.State.DRAFT)
    assert sell(world).vat_basis_points == 2000
