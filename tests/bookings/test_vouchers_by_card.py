"""Vouchers paid by card: issued once on the provider's word, worth less where the holder takes the price back."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
import time_machine
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse

from bookings.card_costs import fees_of_no_walk
from bookings.errors import NotMatched, NotPaidByVoucher, NotPaidOut, NotRecorded
from bookings.models import Booking, CardPayment, Chargeback, Voucher, VoucherOrder
from bookings.needs.money import card_pages, card_refunds, chargebacks
from bookings.services.book_places import book_places
from bookings.services.cancel_booking import cancel_booking
from bookings.services.erase import forget_payers
from bookings.services.issue_voucher import issue_voucher
from bookings.services.note_chargeback import note_chargeback
from bookings.services.order_voucher import order_voucher
from bookings.services.pay_by_voucher import pay_by_voucher
from bookings.services.pay_voucher_back import pay_voucher_back
from bookings.services.start_card_payment import start_voucher_payment
from bookings.services.take_chargeback_back import reopen_chargeback, take_chargeback_back
from bookings.services.withdraw_card_pages import withdraw_next_card_page
from bookings.vouchers import left_on
from foraywright.floor.compute.short_codes import spoken
from foraywright.floor.links import make_link
from foraywright.floor.refusals import SeenOtherwise
from tests.bookings.test_card_money import level, settle, taken_back
from tests.bookings.test_card_payments import notice, send
from tests.bookings.test_voucher_orders import PAGE, pays
from tests.cast import World
from tests.conftest import NOW
from tests.pages import signed_in, words_of

pytestmark = [pytest.mark.database, pytest.mark.usefixtures("practice_cards")]

SOLD = {"card": 5000, "vouchers_out": -5000, "voucher_tax": 833, "vat": -833}
"""Of £50 at 20 %: UK Value Added Tax Act 1994, section 19(2): a sixth of what was paid is tax."""


@pytest.fixture
def order(world: World) -> VoucherOrder:
    return order_voucher(5000, key="k", by="participant", now=world.now)


@pytest.fixture
def payment(world: World, order: VoucherOrder) -> CardPayment:
    return start_voucher_payment(order, by="participant", now=world.now)


@pytest.fixture
def voucher(payment: CardPayment) -> Voucher:
    assert send(payment, notice(payment, "confirmed", 5000)) == 200
    return Voucher.objects.get()


@pytest.fixture
def disputed(voucher: Voucher, payment: CardPayment) -> Chargeback:
    assert send(payment, taken_back(payment, 5000)) == 200
    return Chargeback.objects.get()


def spend(world: World, voucher: Voucher) -> Booking:
    """Two adults for £36, of the £50."""
    booking = book_places(world.order("adult", "adult"), by="participant", now=world.now)
    assert pay_by_voucher(booking, voucher.code, by="participant", now=world.now) == 3600
    return booking


@time_machine.travel(NOW, tick=False)
def test_ordered_paid_and_found_again_in_the_same_browser(world: World) -> None:
    client = Client()
    ordered = client.post(PAGE, {"key": "k" * 20, "value": "50"})["Location"]
    page = client.get(ordered)
    assert "Pay £50.00 by card" in page.content.decode()
    assert page["Referrer-Policy"] == "same-origin", "a browser sends no form from a page without a referrer"
    to = client.post(f"{ordered}card/")["Location"]
    done = client.post(to, {"does": "pay"}, follow=True)
    voucher = Voucher.objects.get()
    page = done.content.decode()
    assert "£50.00 were paid by card" in page
    assert ordered in page
    assert spoken(voucher.code) in client.get(ordered).content.decode()
    elsewhere = Client().get(done.redirect_chain[-1][0]).content.decode()
    assert "£50.00 were paid by card" in elsewhere
    assert ordered not in elsewhere, "the provider knows this address too, and a code is money"
    assert spoken(voucher.code) not in elsewhere


def test_a_card_that_is_declined_issues_nothing(order: VoucherOrder, payment: CardPayment) -> None:
    assert send(payment, notice(payment, "rejected")) == 200
    assert "The card was not charged" in Client().get(f"/card/{payment.token}/done/").content.decode()
    assert not Voucher.objects.exists()
    assert level() == {}


def test_word_of_the_payment_issues_one_voucher_however_often_it_comes(payment: CardPayment, voucher: Voucher) -> None:
    for event in ("e1", "e2"):
        assert send(payment, notice(payment, "confirmed", 5000, event)) == 200
    assert (Voucher.objects.count(), left_on(voucher)) == (1, 5000)
    assert level() == SOLD


def test_what_is_taken_in_parts_is_one_voucher_of_the_whole(payment: CardPayment) -> None:
    for event, captured in (("e1", 2000), ("e2", 5000)):
        assert send(payment, notice(payment, "confirmed", captured, event)) == 200
    voucher = Voucher.objects.get()
    assert (voucher.value_minor, left_on(voucher), level()) == (5000, 5000, SOLD)


def test_an_order_that_was_paid_by_transfer_is_not_paid_again(world: World, order: VoucherOrder) -> None:
    payment = start_voucher_payment(order, by="participant", now=world.now)
    pays(world, order, "50.00")
    with pytest.raises(NotRecorded):
        start_voucher_payment(order, by="participant", now=world.now)
    assert withdraw_next_card_page(now=world.now) == payment, "its page is withdrawn"


def test_a_page_goes_on_until_its_time_is_over(world: World, order: VoucherOrder, payment: CardPayment) -> None:
    assert start_voucher_payment(order, by="participant", now=world.now) == payment
    assert withdraw_next_card_page(now=world.now) is None
    assert withdraw_next_card_page(now=world.now + timedelta(minutes=31)) == payment


def test_a_chargeback_before_the_word_of_the_payment_is_to_be_sent_again(payment: CardPayment) -> None:
    assert send(payment, taken_back(payment, 5000)) == 409
    assert not Chargeback.objects.exists()
    assert level() == {}
    assert send(payment, notice(payment, "confirmed", 5000)) == 200
    assert send(payment, taken_back(payment, 5000)) == 200
    assert level()["charged_back"] == 5000


def test_while_it_is_disputed_it_pays_for_nothing(world: World, voucher: Voucher, disputed: Chargeback) -> None:
    (told,) = chargebacks(world.now)
    assert "took £50.00 back that was paid for a voucher" in told.words
    booking = book_places(world.order(), by="participant", now=world.now)
    with pytest.raises(NotPaidByVoucher, match="took the payment back"):
        pay_by_voucher(booking, voucher.code, by="participant", now=world.now)
    settle(world, disputed, "given_back")
    assert pay_by_voucher(booking, voucher.code, by="participant", now=world.now) == 3600


def test_what_is_left_is_taken_off_and_what_was_spent_is_our_loss(world: World, voucher: Voucher) -> None:
    spend(world, voucher)
    before = level()
    note_chargeback(voucher, voucher.card_payment, amount_minor=5000, key="c", by=world.olive, now=world.now)
    settle(world, Chargeback.objects.get(), "taken_off", fee=1500)
    assert left_on(voucher) == 0
    after = level()
    assert (after["bad_debts"], after["provider_fees"], after["card"]) == (3600, 1500, -1500)
    # A sixth of the £14 that nobody paid is owed no more: £8.33 less the £6.00 in what was spent.
    assert after["vat"] - before["vat"] == 233
    assert fees_of_no_walk(NOW.date(), NOW.date()) == 3600 + 1500


def test_a_refund_to_a_voucher_whose_price_was_taken_back_makes_good_the_loss(world: World, voucher: Voucher) -> None:
    booking = spend(world, voucher)
    note_chargeback(voucher, voucher.card_payment, amount_minor=5000, key="c", by=world.olive, now=world.now)
    settle(world, Chargeback.objects.get(), "taken_off")
    cancel_booking(booking, by=world.olive, now=world.now)
    assert left_on(voucher) == 0, "who has the price back has no voucher as well"
    assert level().get("bad_debts", 0) == 0


def test_what_is_let_go_leaves_the_voucher_good(world: World, voucher: Voucher, disputed: Chargeback) -> None:
    settle(world, disputed, "written_off")
    assert (left_on(voucher), level()["bad_debts"]) == (5000, 5000)
    spend(world, voucher)


@pytest.mark.parametrize("state", ["taken_off", "written_off", "given_back"])
def test_what_was_said_by_mistake_is_turned_round(
    world: World, voucher: Voucher, disputed: Chargeback, state: str
) -> None:
    before = level()
    settle(world, disputed, state, fee=1500)
    reopen_chargeback(Chargeback.objects.get(), reason="Mistyped.", by=world.olive, now=world.now)
    assert level() == before
    assert left_on(voucher) == 5000


def test_one_noted_by_mistake_leaves_the_voucher_as_it_was(world: World, voucher: Voucher) -> None:
    noted = note_chargeback(voucher, voucher.card_payment, amount_minor=900, key="c", by=world.olive, now=world.now)
    take_chargeback_back(noted, reason="Another one.", by=world.olive, now=world.now)
    assert level() == SOLD
    spend(world, voucher)


def test_no_party_owes_the_price_of_a_voucher_and_no_voucher_that_of_a_booking(
    world: World, disputed: Chargeback
) -> None:
    with pytest.raises(NotMatched, match="cannot follow"):
        settle(world, disputed, "owed")
    for change in ({"state": "owed"}, {"voucher": None}):
        with pytest.raises(IntegrityError), transaction.atomic():
            Chargeback.objects.update(**change)


def test_a_voucher_sold_for_a_card_where_we_meet_is_taken_back_too(world: World) -> None:
    voucher = issue_voucher(value_minor=5000, into="cash", key="k", by=world.olive, now=world.now)
    office = signed_in(world.olive)
    page = office.get(reverse("staff_voucher", args=[voucher.public_id])).content.decode()
    address = reverse("staff_voucher_chargeback", args=[voucher.public_id])
    assert address in page
    assert office.post(address, {"key": "k" * 24, "amount": "50"}).status_code == 302
    noted = Chargeback.objects.get()
    answer = office.post(
        reverse("staff_chargeback", args=[noted.public_id]), {"state": "taken_off", "fee": "", "reason": ""}
    )
    assert answer.status_code == 302
    assert (left_on(voucher), level()) == (0, {})


def test_the_office_sees_what_it_was_for(world: World, voucher: Voucher, payment: CardPayment) -> None:
    send(payment, taken_back(payment, 5000))
    office, noted = signed_in(world.olive), Chargeback.objects.get()
    for address in (
        reverse("staff_cards"),
        reverse("staff_card_payment", args=[payment.token]),
        reverse("staff_chargeback", args=[noted.public_id]),
        reverse("staff_voucher", args=[voucher.public_id]),
    ):
        assert spoken(voucher.code) in office.get(address).content.decode(), address
    words = words_of(office.get(reverse("staff_chargeback", args=[noted.public_id])).content.decode())
    assert "The voucher is worth so much less" in words
    assert "The party owes it again" not in words


def test_a_silent_page_of_an_order_is_settled_by_the_office(world: World, payment: CardPayment) -> None:
    CardPayment.objects.update(cannot_withdraw=True)
    (need,) = card_pages(world.now)
    assert "for a voucher" in need.words
    office = signed_in(world.olive)
    assert office.post(need.address, {"outcome": "paid"}, follow=True).status_code == 200
    assert level() == SOLD


def pay_back(world: World, voucher: Voucher, seen: int = 5000) -> int:
    return pay_voucher_back(
        voucher, out_of="card", reason="Changed their mind.", seen=seen, by=world.olive, now=world.now
    )


def test_what_is_left_is_paid_back_once_and_its_tax_is_owed_no_more(world: World, voucher: Voucher) -> None:
    assert pay_back(world, voucher) == 5000
    assert (left_on(voucher), level()) == (0, {})
    with pytest.raises(NotPaidOut, match="Nothing is left"):
        pay_back(world, voucher, seen=0)


@time_machine.travel(NOW, tick=False)
def test_who_ordered_it_sees_what_is_left_and_that_it_is_disputed(world: World, payment: CardPayment) -> None:
    link = make_link("voucher", payment.order.public_id, expires_at=NOW + timedelta(days=9), now=NOW)
    send(payment, notice(payment, "confirmed", 5000))
    page, client = reverse("voucher_order", args=[link]), Client()
    assert "Left on it" not in client.get(page).content.decode()
    spend(world, Voucher.objects.get())
    send(payment, taken_back(payment, 5000))
    words = words_of(client.get(page).content.decode())
    assert "Left on it £14.00" in words
    assert "took the payment back" in words


def test_another_amount_than_was_seen_is_not_paid_back(world: World, voucher: Voucher) -> None:
    spend(world, voucher)
    with pytest.raises(SeenOtherwise):
        pay_back(world, voucher)
    assert pay_back(world, voucher, seen=1400) == 1400


def test_who_took_the_price_back_is_not_paid_back_as_well(world: World, voucher: Voucher, disputed: Chargeback) -> None:
    with pytest.raises(NotPaidOut, match="Settle that first"):
        pay_back(world, voucher)


def test_the_office_pays_back_what_the_provider_says_went_back(world: World, voucher: Voucher) -> None:
    CardPayment.objects.update(status="refunded")
    (need,) = card_refunds(world.now)
    office = signed_in(world.olive)
    page = office.get(need.address)
    assert "£50.00 are left on it" in words_of(page.content.decode())
    told: dict[str, Any] = {"seen": page.context["question"].mark, "out_of": "card", "reason": "Withdrew in 14 days."}
    assert office.post(need.address, told).status_code == 302
    assert level() == {}
    assert list(card_refunds(world.now)) == []


def test_what_a_provider_told_of_a_buyer_is_forgotten_after_the_time_of_claims(world: World, voucher: Voucher) -> None:
    CardPayment.objects.update(billing_email="gift@example.org", customer_ip_address="192.0.2.7", created=world.now)
    forget_payers(now=world.now + timedelta(days=365 * 6))
    assert CardPayment.objects.get().billing_email == "gift@example.org"
    assert forget_payers(now=world.now + timedelta(days=366 * 6 + 1))
    forgotten = CardPayment.objects.get()
    assert (forgotten.billing_email, forgotten.customer_ip_address) == ("", None)
    assert not forget_payers(now=world.now + timedelta(days=366 * 6 + 1)), "nothing is left to do"
