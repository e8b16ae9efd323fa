"""Payments by card: forged, repeated and disordered notices never lose or make a penny."""

from __future__ import annotations

import hashlib
import hmac
import json
from collections import Counter
from datetime import timedelta
from random import Random

import pytest
import time_machine
from django.db import DatabaseError, connection, transaction
from django.test import Client
from django.urls import reverse

from bookings.ground_rules import rules_in_force
from bookings.models import Booking, CardNotice, CardPayment, OutboxMessage, Transfer
from bookings.needs.money import card_refunds
from bookings.queries import balance, coming_back, means_of, paid
from bookings.services.book_places import book_places
from bookings.services.booking_link import booking_link
from bookings.services.cancel_booking import cancel_booking
from bookings.services.hold_places import hold_places
from bookings.services.lapse_holds import lapse_next_hold
from bookings.services.pay_refund import pay_refund
from bookings.services.start_card_payment import start_card_payment
from foraywright.floor.compute.short_codes import spoken
from foraywright.floor.models import Business
from tests.cast import World
from walks.queries import slug_of

pytestmark = [pytest.mark.database, pytest.mark.usefixtures("practice_cards")]

SECRET = b"of the suite"


@pytest.fixture
def booking(world: World) -> Booking:
    return book_places(world.order(), by="participant", now=world.now)


@pytest.fixture
def payment(world: World, booking: Booking) -> CardPayment:
    return start_card_payment(booking, by="participant", now=world.now)


def notice(payment: CardPayment, status: str, captured: int = 0, event: str = "e1") -> bytes:
    return json.dumps({"id": event, "payment": payment.token, "status": status, "captured": captured}).encode()


def signature(body: bytes) -> str:
    return hmac.new(SECRET, body, hashlib.sha256).hexdigest()


def send(payment: CardPayment, body: bytes, signed: str | None = None) -> int:
    headers = {"Signature": signature(body) if signed is None else signed}
    address = f"/card/{payment.token}/notice/"
    return Client().post(address, body, content_type="application/json", headers=headers).status_code


def test_from_the_bookings_page_to_the_ledger(world: World, booking: Booking) -> None:
    client, token = Client(), booking_link(booking, now=world.now)
    assert "Pay £36.00 by card" in client.get(f"/booking/{token}/").content.decode()
    to = client.post(f"/booking/{token}/card/")["Location"]
    assert "£" not in to
    client.post(to, {"does": "decline"})
    assert balance(booking) == 3600
    to = client.post(f"/booking/{token}/card/")["Location"]
    done = client.post(to, {"does": "pay"}, follow=True).content.decode()
    assert "£36.00 were paid by card" in done
    assert (balance(booking), paid(booking), means_of(booking)) == (0, 3600, [("card", 3600)])
    assert "by card</button>" not in client.get(f"/booking/{token}/").content.decode()


def test_cards_are_not_offered_without_a_provider_and_practice_never_for_real(
    world: World, booking: Booking, settings: object
) -> None:
    token, client = booking_link(booking, now=world.now), Client()
    payment = start_card_payment(booking, by="participant", now=world.now)
    Business.objects.update(is_demonstration=False)
    assert "by card</button>" not in client.get(f"/booking/{token}/").content.decode()
    client.post(f"/booking/{token}/card/")
    assert client.get(f"/card/{payment.token}/practice/").status_code == 404
    settings.PAYMENT_VARIANTS = {}
    assert "by card</button>" not in client.get(f"/booking/{token}/").content.decode()
    assert CardPayment.objects.count() == 1


def test_one_amount_is_begun_once(world: World, booking: Booking, payment: CardPayment) -> None:
    assert start_card_payment(booking, by="participant", now=world.now) == payment


@pytest.mark.parametrize("signed", ["", "00", "é", signature(b"another body")])
def test_a_forged_notice_leaves_nothing(booking: Booking, payment: CardPayment, signed: str) -> None:
    assert send(payment, notice(payment, "confirmed", 3600), signed) == 400
    assert not CardNotice.objects.exists()
    assert (balance(booking), CardPayment.objects.get().status) == (3600, "waiting")


@pytest.mark.parametrize("body", [b"", b"[]", b"{}", b'{"payment": 1}', b"\xff"])
def test_a_signed_notice_that_makes_no_sense_leaves_nothing(payment: CardPayment, body: bytes) -> None:
    assert send(payment, body) == 400
    assert not CardNotice.objects.exists()


def test_a_notice_of_another_payment_is_refused(world: World, payment: CardPayment) -> None:
    other = book_places(world.order("adult"), by="participant", now=world.now)
    theirs = start_card_payment(other, by="participant", now=world.now)
    assert send(theirs, notice(payment, "confirmed", 3600)) == 400
    assert balance(other) == 1800


def test_an_earlier_notice_that_comes_late_takes_nothing_back(booking: Booking, payment: CardPayment) -> None:
    assert send(payment, notice(payment, "confirmed", 3600, "e2")) == 200
    assert send(payment, notice(payment, "rejected", 0, "e1")) == 200
    assert (balance(booking), CardPayment.objects.get().status) == (0, "confirmed")


def test_a_refund_that_is_told_of_before_its_payment_hides_nothing(booking: Booking, payment: CardPayment) -> None:
    assert send(payment, notice(payment, "refunded", 0, "e2")) == 200
    assert balance(booking) == 3600
    for _ in range(2):
        assert send(payment, notice(payment, "confirmed", 3600, "e1")) == 200
    assert (balance(booking), CardPayment.objects.get().status) == (0, "refunded")
    (told,) = card_refunds(payment.booking.booked_at)
    assert f"paid money back for booking {spoken(booking.code)}" in told.words
    cancel_booking(booking, by="participant", now=booking.booked_at)
    pay_refund(booking, out_of="card", amount_minor=3600, key="r" * 24, by="command", now=booking.booked_at)
    assert list(card_refunds(booking.booked_at)) == []


def test_money_after_the_hold_or_the_cancelling_is_in_a_named_state(world: World) -> None:
    held = hold_places(world.order(), by="participant", now=world.now)
    late = start_card_payment(held, by="participant", now=world.now)
    sold = book_places(world.order(), by="participant", now=world.now)
    gone = start_card_payment(sold, by="participant", now=world.now)
    cancel_booking(sold, by="participant", now=world.now)
    with time_machine.travel(world.now + timedelta(hours=1), tick=False):
        assert send(late, notice(late, "confirmed", 3600)) == 200
        assert send(gone, notice(gone, "confirmed", 3600, "e2")) == 200
    assert Booking.objects.get(pk=held.pk).state == "confirmed"
    assert (balance(held), paid(sold), coming_back(sold)) == (0, 3600, 0)
    assert Transfer.objects.get(credit__key="unmatched").amount_minor == 3600


def storm(world: World, events: int, seed: int) -> None:
    """`events` notices of six payments: true ones in any order and often repeated, and forged ones among them."""
    random = Random(seed)
    bookings = [book_places(world.order("adult"), by="participant", now=world.now) for _ in range(6)]
    payments = [start_card_payment(one, by="participant", now=world.now) for one in bookings]
    confirmed = set()
    for _ in range(events):
        number = random.randrange(6)
        payment, status = payments[number], random.choice(("input", "preauth", "rejected", "confirmed"))
        body = notice(payment, status, 1800 if status == "confirmed" else 0, f"{number}-{status}")
        forged = random.random() < 0.3
        assert send(payment, body, "0" * 64 if forged else None) == (400 if forged else 200)
        if status == "confirmed" and not forged:
            confirmed.add(number)
        if random.random() < 0.02:
            check(bookings, confirmed)
    check(bookings, confirmed)
    assert len(confirmed) == 6
    assert CardNotice.objects.count() == len(set(CardNotice.objects.values_list("event", flat=True))) <= 24


def check(bookings: list[Booking], confirmed: set[int]) -> None:
    sums: Counter[str] = Counter()
    for debit, credit, amount in Transfer.objects.values_list("debit__key", "credit__key", "amount_minor"):
        sums[debit] += amount
        sums[credit] -= amount
    assert sums["card"] == 1800 * len(confirmed) == 6 * 1800 - sums["receivable"]
    assert [balance(one) for one in bookings] == [0 if n in confirmed else 1800 for n in range(6)]


def test_300_notices_in_any_order(world: World) -> None:
    storm(world, 300, seed=1)


@pytest.mark.slow
def test_10_000_notices_in_any_order(world: World) -> None:
    storm(world, 10_000, seed=2)


@pytest.mark.parametrize("sql", ["UPDATE bookings_cardnotice SET status = 'x'", "DELETE FROM bookings_cardnotice"])
def test_the_database_refuses_to_change_a_notice(payment: CardPayment, sql: str) -> None:
    send(payment, notice(payment, "confirmed", 3600))
    with pytest.raises(DatabaseError, match="Notices of card payments are never"), transaction.atomic():
        connection.cursor().execute(sql)


def filled(world: World, key: str = "k" * 24) -> dict[str, str]:
    rules = rules_in_force().number
    return {"name": "Ann", "email": "ann@example.org", "adults": "2", "rules": str(rules), "key": key, "card": "1"}


def test_the_booking_form_holds_the_places_and_leads_to_the_card(world: World, client: Client) -> None:
    page = reverse("book", args=[slug_of(world.offering.public_id)])
    assert "Hold them and pay by card" in client.get(page).text
    answer = client.post(page, filled(world))
    payment = CardPayment.objects.get()
    assert answer["Location"].endswith(reverse("practice_card", args=[payment.token]))
    held = payment.booking
    assert (held.state, held.held_until) == ("held", world.now + timedelta(minutes=20))
    assert not Transfer.objects.exists()
    again = client.post(page, filled(world))
    assert again["Location"] == answer["Location"], "sent twice: one hold, one payment"
    assert (Booking.objects.count(), CardPayment.objects.count()) == (1, 1)
    done = client.post(answer["Location"], {"does": "pay"}, follow=True)
    assert "Thank you: paid" in done.text
    held.refresh_from_db()
    assert (held.state, balance(held)) == ("confirmed", 0)
    assert OutboxMessage.objects.filter(booking=held, kind="confirmation").count() == 1


def test_a_refused_card_leaves_the_places_held_and_says_until_when(world: World, client: Client) -> None:
    client.post(reverse("book", args=[slug_of(world.offering.public_id)]), filled(world))
    payment = CardPayment.objects.get()
    done = client.post(reverse("practice_card", args=[payment.token]), {"does": "decline"}, follow=True)
    assert "The card was not charged" in done.text
    assert "held for you until 10.20 am, and nothing is owed" in done.text
    payment.refresh_from_db()
    assert payment.booking.state == "held"
    with time_machine.travel(world.now + timedelta(minutes=21), tick=False):
        while lapse_next_hold(now=world.now + timedelta(minutes=21)):
            pass
        assert Booking.objects.get().state == "lapsed"


def test_where_no_cards_are_taken_the_form_books_as_ever(world: World, client: Client) -> None:
    Business.objects.update(is_demonstration=False)
    page = reverse("book", args=[slug_of(world.offering.public_id)])
    assert "pay by card" not in client.get(page).text
    client.post(page, filled(world))
    assert Booking.objects.get().state == "confirmed"
    assert not CardPayment.objects.exists()
