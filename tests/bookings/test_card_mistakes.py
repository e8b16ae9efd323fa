"""What the office noted by mistake of money paid by card is turned round, with a reason, and stays in the ledger."""

from __future__ import annotations

import json
from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from bookings.card_costs import fees_of_no_walk
from bookings.errors import NotMatched, NotPaidOut, NotRecorded
from bookings.models import BankLine, CardPayment, CardPayout, Chargeback, Transfer
from bookings.needs.money import bank_lines, chargebacks
from bookings.queries import balance, refund_due, unmatched_of
from bookings.services.cancel_booking import cancel_booking
from bookings.services.match_bank_line import keep_card_payout
from bookings.services.note_card_payout import note_card_payout
from bookings.services.note_chargeback import left_of_payment, note_chargeback
from bookings.services.pay_refund import pay_refund
from bookings.services.record_payment import record_payment
from bookings.services.take_chargeback_back import reopen_chargeback, take_chargeback_back
from bookings.services.take_in_statement import take_in_and_match
from bookings.services.take_payout_back import take_payout_back
from bookings.services.write_off_debt import write_off_debt
from foraywright.floor.models import AuditLine
from tests.bookings.statements import Entry, statement
from tests.bookings.test_card_money import level, paid_by_card, settle, taken_back
from tests.bookings.test_card_payments import send
from tests.cast import World
from tests.pages import say_yes, signed_in, words_of

pytestmark = [pytest.mark.database, pytest.mark.usefixtures("practice_cards")]


@pytest.fixture
def payment(world: World) -> CardPayment:
    return paid_by_card(world, "adult", "adult", fee=74)


@pytest.fixture
def noted(world: World, payment: CardPayment) -> Chargeback:
    return note_chargeback(payment.booking, payment, amount_minor=3600, key="k" * 24, by=world.olive, now=world.now)


def payout(world: World, *, passed_on: int = 3000, fee: int = 500, shared: bool = False) -> CardPayout:
    told = {"passed_on_minor": passed_on, "fee_minor": fee, "shared": shared, "reason": "October"}
    return note_card_payout(**told, key=f"key-{fee}", by=world.olive, now=world.now)


def back(world: World, one: CardPayout, reason: str = "Mistyped.") -> None:
    take_payout_back(one, reason=reason, by=world.olive, now=world.now)


def reopen(world: World, one: Chargeback, reason: str = "Mistyped.") -> None:
    reopen_chargeback(one, reason=reason, by=world.olive, now=world.now)
    one.refresh_from_db()


def test_a_payout_is_turned_round_with_its_fee_and_nothing_is_deleted(world: World, payment: CardPayment) -> None:
    before, rows, today = level(), Transfer.objects.count(), world.now.date()
    one = payout(world)
    assert (level() != before, fees_of_no_walk(today, today)) == (True, 500)
    back(world, one)
    assert (level(), Transfer.objects.count(), fees_of_no_walk(today, today)) == (before, rows + 4, 0)
    line = AuditLine.objects.get(act="take card payout back")
    assert (line.actor, line.object_id, line.why) == (world.olive.public_id, one.public_id, "Mistyped.")
    with pytest.raises(NotRecorded, match="taken back already"):
        back(world, one)
    assert level() == before


def test_a_payout_is_not_taken_back_without_a_reason(world: World) -> None:
    one = payout(world)
    with pytest.raises(NotRecorded, match="Say in a line why"):
        back(world, one, reason="")
    with pytest.raises(IntegrityError), transaction.atomic():
        CardPayout.objects.update(taken_back_at=world.now)


def test_payments_lose_their_share_of_a_fee_and_the_next_payout_is_shared_anew(
    world: World, payment: CardPayment
) -> None:
    first, second = paid_by_card(world, "adult"), paid_by_card(world, "adult", "adult")
    before = level()
    mistyped = payout(world, fee=1010, shared=True)
    back(world, mistyped)
    fees = [CardPayment.objects.get(pk=one.pk).fee_minor for one in (payment, first, second)]
    assert (level(), fees) == (before, [74, None, None])
    payout(world, fee=101, shared=True)
    fees = [CardPayment.objects.get(pk=one.pk).fee_minor for one in (payment, first, second)]
    assert (level()["provider_fees"], fees) == (74 + 101, [74, 34, 67])


def test_what_the_provider_said_since_of_a_fee_stays(world: World, payment: CardPayment) -> None:
    first, second = paid_by_card(world, "adult"), paid_by_card(world, "adult")
    mistyped = payout(world, fee=80, shared=True)
    told = {"id": "late", "payment": first.token, "status": "confirmed", "captured": 1800, "fee": 50}
    assert send(first, json.dumps(told).encode()) == 200
    back(world, mistyped)
    fees = [CardPayment.objects.get(pk=one.pk).fee_minor for one in (first, second)]
    assert (fees, level()["provider_fees"]) == ([50, None], 74 + 50)


def test_a_shared_fee_of_which_no_share_is_known_is_left_alone(world: World, payment: CardPayment) -> None:
    paid_by_card(world, "adult")
    old = payout(world, shared=True)
    CardPayment.objects.update(fee_payout=None)
    before = level()
    with pytest.raises(NotRecorded, match="No payment has a share of its fee"):
        back(world, old)
    assert level() == before


def test_the_line_of_a_statement_waits_again_and_is_settled_anew(world: World, payment: CardPayment) -> None:
    paid_by_card(world, "adult")
    take_in_and_match(statement(Entry("52.99", "No 4711")), by=world.olive, now=world.now)
    line, before = BankLine.objects.get(), level()
    keep_card_payout(line, fee_minor=1010, reason="October", by=world.olive, now=world.now)
    back(world, CardPayout.objects.get())
    line.refresh_from_db()
    assert (line.state, line.settled_at, level()) == ("waiting", None, before)
    assert len(list(bank_lines(world.now))) == 1
    keep_card_payout(line, fee_minor=101, reason="October", by=world.olive, now=world.now)
    assert (level()["provider_fees"], level()["bank"], CardPayout.objects.count()) == (175, 5299, 2)


def test_a_chargeback_noted_by_mistake_never_was(world: World, payment: CardPayment, noted: Chargeback) -> None:
    take_chargeback_back(noted, reason="Another booking.", by=world.olive, now=world.now)
    noted.refresh_from_db()
    assert (level()["card"], "charged_back" in level(), left_of_payment(payment)) == (3526, False, 3600)
    assert (noted.state, noted.settled_by, list(chargebacks(world.now))) == ("mistake", world.olive, [])
    line = AuditLine.objects.get(act="take chargeback back")
    assert (line.actor, line.object_id, line.why) == (
        world.olive.public_id,
        payment.booking.public_id,
        "Another booking.",
    )
    with pytest.raises(NotMatched):
        take_chargeback_back(noted, reason="Again.", by=world.olive, now=world.now)
    with pytest.raises(NotMatched, match="No person said"):
        reopen(world, noted)
    assert level()["card"] == 3526


def test_a_debt_that_was_let_go_since_waits_with_its_chargeback_again(
    world: World, payment: CardPayment, noted: Chargeback
) -> None:
    """Nothing came for the booking, so nobody reads of money beyond what it owes."""
    settle(world, noted, "owed")
    after = world.now + timedelta(days=30)
    write_off_debt(payment.booking, reason="Gone away.", by=world.olive, now=after)
    reopen(world, noted)
    assert (unmatched_of(payment.booking), level()["charged_back"], "bad_debts" in level()) == (0, 3600, False)
    settle(world, noted, "owed")
    assert balance(payment.booking) == 3600


def test_a_notice_after_the_mistake_tells_of_another_one(world: World, payment: CardPayment, noted: Chargeback) -> None:
    take_chargeback_back(noted, reason="Too early.", by=world.olive, now=world.now)
    assert send(payment, taken_back(payment)) == 200
    assert sorted(Chargeback.objects.values_list("state", "provider_key")) == [("mistake", ""), ("waiting", "d1")]
    assert level()["charged_back"] == 3600


def test_what_the_provider_told_of_is_no_mistake_of_the_office(
    world: World, payment: CardPayment, noted: Chargeback
) -> None:
    assert send(payment, taken_back(payment)) == 200
    with pytest.raises(NotMatched, match="the provider told of it"):
        take_chargeback_back(noted, reason="No.", by=world.olive, now=world.now)
    with pytest.raises(IntegrityError), transaction.atomic():
        Chargeback.objects.update(state="mistake", settled_by=world.olive, reason="x")


@pytest.mark.parametrize("state", ["owed", "written_off", "given_back"])
def test_a_settlement_is_taken_back_with_its_fee(world: World, noted: Chargeback, state: str) -> None:
    before = level()
    settle(world, noted, state, fee=1500)
    assert level()["provider_fees"] == 1574
    reopen(world, noted)
    assert (level(), noted.state, noted.fee_minor, noted.settled_by) == (before, "waiting", 0, None)
    settle(world, noted, "owed", fee=150)
    assert (balance(noted.payment.booking), level()["provider_fees"]) == (3600, 224)
    assert [one.why for one in AuditLine.objects.filter(act="reopen chargeback")] == ["Mistyped."]


def test_no_reason_no_settlement_taken_back(world: World, noted: Chargeback) -> None:
    settle(world, noted, "owed")
    with pytest.raises(NotMatched, match="Say in a line why"):
        reopen(world, noted, reason="")
    assert level()["receivable"] == 3600


def test_what_the_party_paid_again_stands_in_a_name_and_is_met_first(world: World, noted: Chargeback) -> None:
    settle(world, noted, "owed")
    booking = noted.payment.booking
    record_payment(booking, into="bank", amount_minor=3600, by=world.olive, now=world.now)
    reopen(world, noted)
    assert (balance(booking), unmatched_of(booking), level()["charged_back"]) == (0, 3600, 3600)
    settle(world, noted, "owed")
    assert (balance(booking), unmatched_of(booking), "charged_back" in level()) == (0, 0, False)


def test_a_promise_that_a_mistake_met_is_not_paid_while_it_waits(world: World, noted: Chargeback) -> None:
    booking = noted.payment.booking
    cancel_booking(booking, by="participant", now=world.now)
    settle(world, noted, "owed")
    assert refund_due(booking) == 0
    reopen(world, noted)
    with pytest.raises(NotPaidOut, match="Settle the chargeback first"):
        pay_refund(booking, out_of="bank", amount_minor=3600, key="r" * 24, by=world.olive, now=world.now)
    take_chargeback_back(noted, reason="Never was.", by=world.olive, now=world.now)
    assert (unmatched_of(booking), level()["card"]) == (3600, 3526)


def test_a_decision_for_us_is_not_taken_back_once_the_same_money_went_again(
    world: World, payment: CardPayment, noted: Chargeback
) -> None:
    settle(world, noted, "given_back")
    note_chargeback(payment.booking, payment, amount_minor=3600, key="l" * 24, by=world.olive, now=world.now)
    with pytest.raises(NotMatched, match="took the same money back since"):
        reopen(world, noted)
    assert level()["card"] == -74


def test_what_the_provider_gave_back_stays(world: World, payment: CardPayment, noted: Chargeback) -> None:
    settle(world, noted, "owed")
    assert send(payment, taken_back(payment, given_back=True)) == 200
    noted.refresh_from_db()
    before = level()
    with pytest.raises(NotMatched, match="No person said"):
        reopen(world, noted)
    assert level() == before


def test_the_office_takes_it_all_back_by_forms_that_ask_once(world: World, noted: Chargeback) -> None:
    office, cards = signed_in(world.olive), reverse("staff_cards")
    one = payout(world)
    page = reverse("staff_payout_back", args=[one.public_id])
    assert page in office.get(cards).text
    question = office.get(page)
    assert "This cannot be undone. £30.00 passed on and a fee of £5.00 are turned round" in words_of(question.content)
    assert office.post(page, {"reason": "Mistyped."}).status_code == 409, "nothing was seen, so nothing is done"
    assert office.post(page, {"seen": question.context["question"].mark}).status_code == 422, "no reason"
    say_yes(office, page, {"reason": "Mistyped."})
    assert "October · fee of the season · taken back" in words_of(office.get(cards).content)
    settle(world, noted, "owed", fee=1500)
    shown = reverse("staff_chargeback", args=[noted.public_id])
    for name in ("staff_chargeback_reopen", "staff_chargeback_back"):
        page = reverse(name, args=[noted.public_id])
        assert page in office.get(shown).text
        say_yes(office, page, {"reason": "Mistyped."})
    noted.refresh_from_db()
    assert (noted.state, level()["card"], level()["provider_fees"]) == ("mistake", 3526, 74)
