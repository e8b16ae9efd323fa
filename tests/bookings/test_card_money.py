"""Fees, payouts and chargebacks of the card provider: every penny is somewhere, and a person says what follows."""

from __future__ import annotations

import json
from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse

from bookings.card_costs import fees_of_no_walk
from bookings.errors import NotMatched, NotPaidOut, NotRecorded
from bookings.models import BankLine, Booking, CallOffChoice, CardPayment, CardPayout, Chargeback, Transfer
from bookings.needs.money import chargebacks
from bookings.queries import balance, coming_back, means_of, paid, refund_due, unmatched_of
from bookings.services.book_places import book_places
from bookings.services.call_off_walk import call_off_walk
from bookings.services.cancel_booking import cancel_booking, settlement
from bookings.services.change_party import PartyChange, change_party, change_terms
from bookings.services.match_bank_line import keep_card_payout
from bookings.services.note_card_payout import note_card_payout
from bookings.services.note_chargeback import note_chargeback
from bookings.services.pay_refund import pay_refund
from bookings.services.record_payment import record_payment
from bookings.services.settle_chargeback import settle_chargeback
from bookings.services.start_card_payment import start_card_payment
from bookings.services.take_in_statement import take_in_and_match
from bookings.services.take_income import take_next_income
from bookings.takings import takings_of
from foraywright.floor.compute.short_codes import spoken
from foraywright.floor.models import AuditLine
from tests.bookings.books import accounts
from tests.bookings.statements import Entry, statement
from tests.bookings.test_card_payments import send
from tests.cast import World
from tests.pages import signed_in, words_of

pytestmark = [pytest.mark.database, pytest.mark.usefixtures("practice_cards")]


def paid_by_card(world: World, *bands: str, fee: int | None = None) -> CardPayment:
    booking = book_places(world.order(*bands), by="participant", now=world.now)
    payment = start_card_payment(booking, by="participant", now=world.now)
    told = {"id": "paid", "payment": payment.token, "status": "confirmed", "captured": payment.asked_minor}
    assert send(payment, json.dumps(told | ({} if fee is None else {"fee": fee})).encode()) == 200
    payment.refresh_from_db()
    return payment


@pytest.fixture
def payment(world: World) -> CardPayment:
    return paid_by_card(world, "adult", "adult", fee=74)


@pytest.fixture
def booking(payment: CardPayment) -> Booking:
    return payment.booking


def taken_back(payment: CardPayment, amount: int = 3600, *, given_back: bool = False, key: str = "d1") -> bytes:
    told = {"id": key, "amount": amount, "given_back": given_back}
    return json.dumps({"id": f"{key}-{given_back}", "payment": payment.token, "chargeback": told}).encode()


@pytest.fixture
def chargeback(payment: CardPayment) -> Chargeback:
    assert send(payment, taken_back(payment)) == 200
    return Chargeback.objects.get()


def settle(world: World, chargeback: Chargeback, state: str, reason: str = "They came.", fee: int = 0) -> None:
    settle_chargeback(chargeback, state=state, reason=reason, fee_minor=fee, by=world.olive, now=world.now)


def level() -> dict[str, int]:
    return {key: amount for key, amount in accounts().items() if amount}


@pytest.fixture
def let_go(world: World, booking: Booking, chargeback: Chargeback) -> Booking:
    """A booking whose money its card holder has again, which was written off."""
    settle(world, chargeback, "written_off")
    return booking


def test_what_was_written_off_never_comes_back_to_the_party(world: World, let_go: Booking) -> None:
    terms = settlement(let_go, ours=False, now=world.now)
    assert (terms.paid, terms.back, terms.still_owed) == (0, 0, 0)
    cancel_booking(let_go, seen=terms.mark, by="participant", now=world.now)
    assert (coming_back(let_go), balance(let_go)) == (0, 0)
    assert level() == {"card": -74, "provider_fees": 74}


def test_of_a_sale_taken_back_in_part_so_much_less_stays_written_off(world: World, let_go: Booking) -> None:
    one = let_go.party.people.latest("pk").public_id
    wanted = PartyChange(remove=frozenset({one}))
    terms = change_terms(let_go, wanted, now=world.now)
    assert (terms.after, terms.back, terms.to_pay) == (1800, 0, 0)
    change_party(let_go, wanted, terms=terms.mark, key="c" * 24, by="participant", now=world.now)
    assert (coming_back(let_go), balance(let_go), accounts()["bad_debts"]) == (0, 0, 1800)


def test_a_walk_called_off_gives_no_choice_of_money_that_its_party_has(world: World, let_go: Booking) -> None:
    call_off_walk(world.offering, why="Storm.", by=world.olive, now=world.now)
    assert coming_back(let_go) == 0
    assert not CallOffChoice.objects.exists()


def test_who_pays_after_all_makes_good_what_was_written_off(world: World, let_go: Booking) -> None:
    record_payment(let_go, into="bank", amount_minor=4000, by=world.olive, now=world.now)
    assert (coming_back(let_go), balance(let_go), accounts()["bad_debts"]) == (400, 0, 0)


def test_a_fee_is_a_cost_and_what_was_paid_stays_what_was_paid(booking: Booking, payment: CardPayment) -> None:
    assert level() == {"card": 3526, "provider_fees": 74, "deferred_income": -3000, "vat": -600}
    assert (paid(booking), means_of(booking), payment.fee_minor) == (3600, [("card", 3600)], 74)


def test_a_fee_told_twice_counts_once(payment: CardPayment) -> None:
    told = {"id": "again", "payment": payment.token, "status": "confirmed", "captured": 3600, "fee": 74}
    assert send(payment, json.dumps(told).encode()) == 200
    assert accounts()["provider_fees"] == 74


def test_paid_is_earned_and_owed_and_refunded_and_held_and_fees(world: World) -> None:
    """Five bookings that pay 18 each by card; one is refunded, one taken back and owed again, one let go, one waits."""
    payments = [paid_by_card(world, "adult", fee=40) for _ in range(5)]
    cancelled, owed, let_go, waits, _ = payments
    cancel_booking(cancelled.booking, by="participant", now=world.now)
    pay_refund(cancelled.booking, out_of="card", amount_minor=1800, key="r" * 24, by=world.olive, now=world.now)
    for one in (owed, let_go, waits):
        assert send(one, taken_back(one, 1800)) == 200
    settle(world, owed.chargebacks.get(), "owed", fee=1500)
    settle(world, let_go.chargebacks.get(), "written_off")
    while take_next_income(now=world.now + timedelta(days=400)):
        pass
    sums = accounts()
    came, refunded, taken = 5 * 1800, 1800, 3 * 1800
    assert (sums["receivable"], sums["charged_back"], sums["bad_debts"]) == (1800, 1800, 1800)
    assert came == refunded + taken + sums["card"] + sums["provider_fees"]
    earned = -(sums["income"] + sums["vat"])
    assert earned == came - refunded - taken + sums["receivable"] + sums["charged_back"] + sums["bad_debts"]
    assert (earned, sums["provider_fees"]) == (4 * 1800, 5 * 40 + 1500)


def test_a_chargeback_waits_for_a_person_and_is_told_once(
    world: World, booking: Booking, payment: CardPayment, chargeback: Chargeback
) -> None:
    assert send(payment, taken_back(payment)) == 200
    assert Chargeback.objects.count() == 1
    assert (accounts()["charged_back"], accounts()["card"], balance(booking), paid(booking)) == (3600, -74, 0, 0)
    (told,) = chargebacks(world.now)
    assert f"took £36.00 back that was paid for booking {spoken(booking.code)}" in told.words
    settle(world, chargeback, "owed")
    assert list(chargebacks(world.now)) == []


def test_what_is_owed_again_can_be_paid_again(world: World, booking: Booking, chargeback: Chargeback) -> None:
    settle(world, chargeback, "owed", fee=1500)
    assert (balance(booking), accounts()["provider_fees"]) == (3600, 1574)
    record_payment(booking, into="bank", amount_minor=3600, by=world.olive, now=world.now)
    assert (balance(booking), means_of(booking)) == (0, [("bank", 3600)])


def test_only_a_named_person_lets_money_go_and_says_why(world: World, booking: Booking, chargeback: Chargeback) -> None:
    with pytest.raises(NotMatched, match="needs a reason"):
        settle(world, chargeback, "written_off", reason="")
    with pytest.raises(IntegrityError), transaction.atomic():
        Chargeback.objects.update(state="written_off", reason="x")
    settle(world, chargeback, "written_off", reason="They are ill.")
    chargeback.refresh_from_db()
    assert (chargeback.settled_by, balance(booking), accounts()["bad_debts"]) == (world.olive, 0, 3600)
    line = AuditLine.objects.get(act="settle chargeback")
    assert (line.actor, line.object_id, line.why) == (world.olive.public_id, booking.public_id, "They are ill.")
    with pytest.raises(NotMatched, match="settled already: written off"):
        settle(world, chargeback, "owed")


@pytest.mark.parametrize("state", ["owed", "written_off"])
def test_who_has_the_money_by_the_bank_is_not_refunded_as_well(
    world: World, booking: Booking, chargeback: Chargeback, state: str
) -> None:
    cancel_booking(booking, by="participant", now=world.now)
    assert refund_due(booking) == 3600
    with pytest.raises(NotPaidOut, match="Settle the chargeback first"):
        pay_refund(booking, out_of="bank", amount_minor=3600, key="r" * 24, by=world.olive, now=world.now)
    settle(world, chargeback, state)
    assert (refund_due(booking), balance(booking), accounts()["bad_debts"]) == (0, 0, 0)


def test_who_takes_the_money_of_a_called_off_walk_back_has_chosen_it(
    world: World, booking: Booking, chargeback: Chargeback
) -> None:
    call_off_walk(world.offering, why="Storm.", by=world.olive, now=world.now)
    settle(world, chargeback, "owed")
    assert level() == {"card": -74, "provider_fees": 74}
    assert booking.call_off_choice.chosen_at == world.now


@pytest.mark.parametrize("state", [None, "owed", "written_off"])
def test_what_the_provider_gives_back_is_ours_again(
    world: World, booking: Booking, payment: CardPayment, chargeback: Chargeback, state: str | None
) -> None:
    before = {"card": 3526, "provider_fees": 74, "deferred_income": -3000, "vat": -600}
    if state:
        settle(world, chargeback, state)
    for _ in range(2):
        assert send(payment, taken_back(payment, given_back=True)) == 200
    chargeback.refresh_from_db()
    assert (level(), chargeback.state, balance(booking)) == (before, "given_back", 0)


def test_given_back_after_the_party_paid_otherwise_waits_for_a_person(
    world: World, booking: Booking, payment: CardPayment, chargeback: Chargeback
) -> None:
    settle(world, chargeback, "owed")
    record_payment(booking, into="cash", amount_minor=3600, by=world.olive, now=world.now)
    assert send(payment, taken_back(payment, given_back=True)) == 200
    assert (balance(booking), unmatched_of(booking)) == (0, 3600)


def test_given_back_before_it_was_told_of_moves_nothing(payment: CardPayment) -> None:
    before = level()
    assert send(payment, taken_back(payment, given_back=True)) == 200
    assert send(payment, taken_back(payment)) == 200
    assert (level(), Chargeback.objects.get().state) == (before, "given_back")


@pytest.mark.parametrize("body", [{"id": "", "amount": 1}, {"id": "d", "amount": 0}, {"id": "d"}, 7])
def test_a_chargeback_that_makes_no_sense_leaves_nothing(payment: CardPayment, body: object) -> None:
    told = {"id": "e", "payment": payment.token, "chargeback": body}
    assert send(payment, json.dumps(told).encode()) == 400
    assert not Chargeback.objects.exists()


def test_what_the_office_noted_and_the_provider_tells_afterwards_is_one(world: World, payment: CardPayment) -> None:
    for _ in range(2):
        note_chargeback(payment.booking, payment, amount_minor=3600, key="k" * 24, by=world.olive, now=world.now)
    with pytest.raises(NotRecorded, match="No more can be taken back"):
        note_chargeback(payment.booking, payment, amount_minor=1, key="l" * 24, by=world.olive, now=world.now)
    assert send(payment, taken_back(payment)) == 200
    assert (Chargeback.objects.get().provider_key, accounts()["charged_back"]) == ("d1", 3600)
    assert send(payment, taken_back(payment, 100, key="d2")) == 200
    assert accounts()["charged_back"] == 3700, "another one is another one"


def test_the_fee_of_a_payout_is_shared_among_the_payments_without_one(world: World, payment: CardPayment) -> None:
    first, second = paid_by_card(world, "adult"), paid_by_card(world, "adult", "adult")
    take_in_and_match(statement(Entry("52.99", "No 4711")), by=world.olive, now=world.now)
    line = BankLine.objects.get()
    keep_card_payout(line, fee_minor=101, reason="October", by=world.olive, now=world.now)
    shares = [CardPayment.objects.get(pk=one.pk).fee_minor for one in (payment, first, second)]
    assert shares == [74, 34, 67], "by amount, largest remainder"
    assert (accounts()["card"], accounts()["bank"], accounts()["provider_fees"]) == (
        3600 + 5400 - 175 - 5299,
        5299,
        175,
    )
    (takings,) = takings_of([world.offering])
    assert (takings.by_cards, takings.costs, takings.left) == (175, 175, takings.net - 175)


def test_a_fee_of_the_account_is_a_cost_of_the_season_and_of_no_walk(world: World, payment: CardPayment) -> None:
    told = {"passed_on_minor": 3000, "fee_minor": 500, "shared": False, "reason": "Monthly fee"}
    for _ in range(2):
        note_card_payout(**told, key="k" * 24, by=world.olive, now=world.now)
    today = world.now.date()
    assert (CardPayout.objects.count(), fees_of_no_walk(today, today)) == (1, 500)
    assert fees_of_no_walk(today + timedelta(days=1), today + timedelta(days=9)) == 0
    assert level() == {"card": 26, "bank": 3000, "provider_fees": 574, "deferred_income": -3000, "vat": -600}
    season = words_of(signed_in(world.olive).get(reverse("staff_season")).content)
    assert "£5.00 of the costs are fees of the card provider" in season


def test_what_was_let_go_is_a_cost_of_its_walk(world: World, chargeback: Chargeback) -> None:
    settle(world, chargeback, "written_off", fee=1500)
    (takings,) = takings_of([world.offering])
    assert (takings.by_cards, takings.sold) == (74 + 1500 + 3600, 3600)


def test_the_office_does_all_of_it_by_forms(world: World, booking: Booking, payment: CardPayment) -> None:
    office = signed_in(world.olive)
    assert reverse("staff_card_payment", args=[payment.token]) in office.get(f"/staff/bookings/{booking.code}/").text
    page = reverse("staff_card_payment", args=[payment.token])
    office.post(page, {"key": "k" * 24, "amount": "36.00"})
    chargeback = Chargeback.objects.get()
    assert reverse("staff_chargeback", args=[chargeback.public_id]) in office.get(reverse("staff_cards")).text
    settle_page = reverse("staff_chargeback", args=[chargeback.public_id])
    answer = office.post(settle_page, {"state": "written_off", "fee": "15.00"})
    assert "Say in a line why" in words_of(answer.content)
    office.post(settle_page, {"state": "written_off", "fee": "15.00", "reason": "They are ill."})
    assert (accounts()["bad_debts"], accounts()["provider_fees"]) == (3600, 1574)
    empty = office.post(reverse("staff_cards"), {"key": "p" * 24, "shared": "on"})
    assert "Write what was passed on" in words_of(empty.content)
    office.post(reverse("staff_cards"), {"key": "p" * 24, "fee": "2.00", "passed_on": "10.00"})
    shown = words_of(office.get(reverse("staff_cards")).content)
    assert "−£27.74 should stand with the card provider now" in shown
    assert "written off" in words_of(office.get(settle_page).content).lower()


def test_the_practice_provider_takes_back_and_gives_back_what_was_paid(world: World, payment: CardPayment) -> None:
    client, page = Client(), reverse("practice_card", args=[payment.token])
    for _ in range(2):
        client.post(page, {"does": "take_back"})
    assert Chargeback.objects.get().state == "waiting"
    client.post(page, {"does": "give_back"})
    assert (Chargeback.objects.get().state, accounts()["card"]) == ("given_back", 3526)
    assert Transfer.objects.filter(kind="given_back").count() == 1


def test_what_was_not_paid_is_not_taken_back(world: World) -> None:
    booking = book_places(world.order("adult"), by="participant", now=world.now)
    payment = start_card_payment(booking, by="participant", now=world.now)
    Client().post(reverse("practice_card", args=[payment.token]), {"does": "take_back"})
    assert not Chargeback.objects.exists()
