"""Pages of the card provider that are open for long, in two tabs, after a change, after the hold; and silence."""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
import time_machine
from django.test import Client
from django.urls import reverse
from payments import PaymentError
from payments.core import BasicProvider

from bookings import card_provider
from bookings.card_provider import PracticeProvider, sends_exactly, takes_cards
from bookings.errors import NotExtended, NotRecorded
from bookings.models import Booking, CardPayment, OutboxMessage, WaitingEntry
from bookings.needs.money import card_pages
from bookings.queries import balance, coming_back, paid
from bookings.services import withdraw_card_pages
from bookings.services.book_places import book_places
from bookings.services.cancel_booking import cancel_booking
from bookings.services.change_party import PartyChange, change_party, change_terms
from bookings.services.extend_hold import extend_hold
from bookings.services.hold_places import hold_places
from bookings.services.lapse_holds import lapse_next_hold
from bookings.services.receive_card_notice import say_card_outcome
from bookings.services.record_payment import record_payment
from bookings.services.start_card_payment import start_card_payment
from bookings.services.withdraw_card_pages import MOST_ATTEMPTS, withdraw_next_card_page
from bookings.views.public import hold_for_the_card
from foraywright.floor.compute.money import in_major
from foraywright.floor.models import Business, PolicyVersion
from tests.bookings.books import accounts
from tests.bookings.test_card_payments import filled, notice, send
from tests.cast import World
from tests.pages import signed_in, words_of
from walks.models import Site
from walks.queries import slug_of

pytestmark = [pytest.mark.database, pytest.mark.usefixtures("practice_cards")]


def later(world: World, minutes: int) -> datetime:
    return world.now + timedelta(minutes=minutes)


def begin(booking: Booking, *, now: datetime) -> CardPayment:
    return start_card_payment(booking, by="participant", now=now)


@pytest.fixture
def booking(world: World) -> Booking:
    return book_places(world.order(), by="participant", now=world.now)


@pytest.fixture
def held(world: World, client: Client) -> Booking:
    """Places held by the form, which leads to the card page."""
    client.post(reverse("book", args=[slug_of(world.offering.public_id)]), filled(world))
    return Booking.objects.get()


def worker(world: World, minutes: int = 0) -> list[CardPayment]:
    """What the worker withdraws then; the rows as they are afterwards."""
    done = []
    while (one := withdraw_next_card_page(now=later(world, minutes))) is not None:
        one.refresh_from_db()
        done.append(one)
    return done


def one_more(world: World, booking: Booking) -> None:
    change = PartyChange(add=("adult",))
    terms = change_terms(booking, change, now=world.now).mark
    change_party(booking, change, terms=terms, key="c" * 24, by="participant", now=world.now)


def test_the_hold_never_outlasts_the_page(world: World, held: Booking) -> None:
    assert (held.held_until, held.session_ends_at) == (later(world, 20), later(world, 30))
    extend_hold(held, key="a" * 24, by="participant", now=later(world, 15))
    held.refresh_from_db()
    assert held.held_until == later(world, 30), "extended while on the page, and no further than it"
    with pytest.raises(NotExtended, match="lasts as long as the payment’s own page"):
        extend_hold(held, key="b" * 24, by="participant", now=later(world, 16))
    payment = CardPayment.objects.get()
    with time_machine.travel(later(world, 29), tick=False):
        assert send(payment, notice(payment, "confirmed", 3600)) == 200
    held.refresh_from_db()
    assert (held.state, held.session_ends_at, balance(held)) == ("confirmed", None, 0)


def test_a_page_shorter_than_the_hold_shortens_it(
    world: World, client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(PracticeProvider, "page_lives", timedelta(minutes=12))
    client.post(reverse("book", args=[slug_of(world.offering.public_id)]), filled(world))
    assert Booking.objects.get().held_until == later(world, 12)


def test_a_page_about_to_end_is_left_for_a_new_one_and_the_hold_may_go_on(world: World, held: Booking) -> None:
    assert begin(held, now=later(world, 5)) == CardPayment.objects.get(), "the same page while it lasts"
    extend_hold(held, key="a" * 24, by="participant", now=later(world, 15))
    newer = begin(held, now=later(world, 25))
    assert CardPayment.objects.count() == 2
    held.refresh_from_db()
    assert (held.held_until, held.session_ends_at) == (later(world, 30), newer.page_ends_at)
    extend_hold(held, key="b" * 24, by="participant", now=later(world, 28))
    held.refresh_from_db()
    assert held.held_until == later(world, 48)


def test_an_offer_keeps_its_own_end(world: World, booking: Booking) -> None:
    Booking.objects.update(state="held", hold_kind="offer", held_until=later(world, 600))
    begin(booking, now=world.now)
    booking.refresh_from_db()
    assert (booking.held_until, booking.session_ends_at) == (later(world, 600), None)


def test_where_nobody_says_how_long_a_page_lives_the_hold_has_its_own_end(
    world: World, client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(PracticeProvider, "page_lives", None)
    client.post(reverse("book", args=[slug_of(world.offering.public_id)]), filled(world))
    held = Booking.objects.get()
    assert (held.held_until, held.session_ends_at) == (later(world, 20), None)
    assert worker(world, 10) == []


def test_an_older_page_is_withdrawn_when_the_party_changed(world: World, booking: Booking) -> None:
    older = begin(booking, now=world.now)
    assert worker(world) == [], "what asks the right amount stays"
    one_more(world, booking)
    newer = begin(booking, now=world.now)
    assert (older.asked_minor, newer.asked_minor) == (3600, 5400)
    assert [(one.pk, one.status) for one in worker(world)] == [(older.pk, "cancelled")]
    page = Client().get(reverse("practice_card", args=[older.token]))
    assert (page.status_code, "can no longer be paid on" in words_of(page.content)) == (410, True)
    Client().post(reverse("practice_card", args=[older.token]), {"does": "pay"})
    assert paid(booking) == 0


@pytest.mark.parametrize("order", [(0, 1), (1, 0)])
def test_an_older_page_that_is_paid_all_the_same_loses_nothing(
    world: World, booking: Booking, order: tuple[int, int]
) -> None:
    pages = [begin(booking, now=world.now)]
    one_more(world, booking)
    pages.append(begin(booking, now=world.now))
    worker(world)
    for number in order:
        one = pages[number]
        assert send(one, notice(one, "confirmed", one.asked_minor, f"e{number}")) == 200
    assert (balance(booking), coming_back(booking), accounts()["card"]) == (0, 3600, 9000)
    told = OutboxMessage.objects.filter(booking=booking, kind="payment")
    assert told.count() == 2


def test_a_page_is_withdrawn_when_it_was_paid_otherwise_or_cancelled(world: World, booking: Booking) -> None:
    first = begin(booking, now=world.now)
    record_payment(booking, into="bank", amount_minor=3600, by=world.olive, now=world.now)
    assert [one.pk for one in worker(world)] == [first.pk]
    other = book_places(world.order("adult"), by="participant", now=world.now)
    second = begin(other, now=world.now)
    cancel_booking(other, by="participant", now=world.now)
    assert [one.pk for one in worker(world)] == [second.pk]


def test_two_tabs_are_one_page_and_are_paid_once(world: World, client: Client, held: Booking) -> None:
    again = client.post(reverse("book", args=[slug_of(world.offering.public_id)]), filled(world))
    payment = CardPayment.objects.get()
    page = reverse("practice_card", args=[payment.token])
    assert again["Location"].endswith(page)
    for _ in range(2):
        client.post(page, {"does": "pay"})
    assert (paid(held), coming_back(held), payment.notices.count()) == (3600, 0, 1)


def test_two_pages_both_paid_pay_once_and_the_rest_comes_back(world: World, held: Booking) -> None:
    first = CardPayment.objects.get()
    extend_hold(held, key="x" * 24, by="participant", now=later(world, 15))
    second = begin(held, now=later(world, 25))
    for number, one in enumerate((first, second)):
        assert send(one, notice(one, "confirmed", 3600, f"e{number}")) == 200
    held.refresh_from_db()
    assert (held.state, balance(held), coming_back(held)) == ("confirmed", 0, 3600)


def test_back_after_paying_asks_nothing_twice(world: World, client: Client, held: Booking) -> None:
    page = reverse("practice_card", args=[CardPayment.objects.get().token])
    client.post(page, {"does": "pay"})
    assert "This was paid" in words_of(client.get(page).content)
    sent_again = client.post(reverse("book", args=[slug_of(world.offering.public_id)]), filled(world), follow=True)
    assert "There is nothing to pay by card here" in words_of(sent_again.content)
    assert (Booking.objects.count(), CardPayment.objects.count(), paid(held)) == (1, 1, 3600)


def test_a_notice_that_never_comes_lets_the_hold_lapse_and_closes_the_page(world: World, held: Booking) -> None:
    lapse_next_hold(now=later(world, 21))
    assert [one.status for one in worker(world, 21)] == ["cancelled"]
    assert list(card_pages(later(world, 21))) == []
    held.refresh_from_db()
    assert (held.state, OutboxMessage.objects.filter(booking=held, kind="hold_lapsed").count()) == ("lapsed", 1)


class Deaf(PracticeProvider):
    """Its pages cannot be withdrawn, or not now."""

    fault: type[Exception] = NotImplementedError

    def cancel(self, payment: CardPayment) -> None:
        raise self.fault("no")


def deaf(monkeypatch: pytest.MonkeyPatch, fault: type[Exception]) -> None:
    def factory(variant: str, payment: CardPayment) -> BasicProvider:
        provider = Deaf("of the suite")
        provider.fault = fault
        return provider

    monkeypatch.setattr(withdraw_card_pages, "provider_factory", factory)


def test_silence_that_cannot_be_withdrawn_waits_for_a_person(
    world: World, booking: Booking, monkeypatch: pytest.MonkeyPatch
) -> None:
    deaf(monkeypatch, NotImplementedError)
    payment = begin(booking, now=world.now)
    assert [one.status for one in worker(world, 31)] == ["waiting"]
    assert worker(world, 99) == []
    (told,) = card_pages(world.now)
    assert "No word came of a card payment of £36.00" in told.words
    office = signed_in(world.olive)
    assert "No word has come of it" in words_of(office.get(told.address).content)
    office.post(told.address, {"outcome": "paid"})
    assert (balance(booking), accounts()["card"], list(card_pages(world.now))) == (0, 3600, [])
    assert send(payment, notice(payment, "confirmed", 3600)) == 200
    assert accounts()["card"] == 3600, "the notice that came after all counts nothing twice"
    with pytest.raises(NotRecorded, match="Word of this payment came"):
        say_card_outcome(payment, is_paid=True, by=world.olive, now=world.now)


def test_what_was_not_paid_is_closed_by_the_office(
    world: World, booking: Booking, monkeypatch: pytest.MonkeyPatch
) -> None:
    deaf(monkeypatch, NotImplementedError)
    payment = begin(booking, now=world.now)
    worker(world, 31)
    say_card_outcome(payment, is_paid=False, by=world.olive, now=world.now)
    assert (balance(booking), list(card_pages(world.now)), CardPayment.objects.get().status) == (3600, [], "rejected")


def test_a_provider_that_does_not_answer_is_asked_again_and_then_a_person_is(
    world: World, booking: Booking, monkeypatch: pytest.MonkeyPatch
) -> None:
    deaf(monkeypatch, PaymentError)
    begin(booking, now=world.now)
    assert len(worker(world, 31)) == 1
    assert worker(world, 32) == [], "not before its lease is over"
    assert list(card_pages(world.now)) == []
    for number in range(1, MOST_ATTEMPTS):
        assert len(worker(world, 31 + 4 * number)) == 1
    assert (CardPayment.objects.get().withdraw_attempts, len(list(card_pages(world.now)))) == (MOST_ATTEMPTS, 1)


def test_paid_while_it_is_being_withdrawn_stays_paid(
    world: World, booking: Booking, monkeypatch: pytest.MonkeyPatch
) -> None:
    payment = begin(booking, now=world.now)

    def paid_meanwhile(self: PracticeProvider, one: CardPayment) -> None:
        assert send(payment, notice(payment, "confirmed", 3600)) == 200

    monkeypatch.setattr(PracticeProvider, "cancel", paid_meanwhile)
    assert [one.status for one in worker(world, 31)] == ["confirmed"]
    assert balance(booking) == 0


def late_payment(world: World, held: Booking) -> str:
    """Paid after the hold ran out and its places were given back; what the page says to whoever paid."""
    payment = CardPayment.objects.get()
    with time_machine.travel(later(world, 22), tick=False):
        lapse_next_hold(now=later(world, 22))
        assert send(payment, notice(payment, "confirmed", 3600)) == 200
        return words_of(Client().get(reverse("card_done", args=[payment.token])).content)


def test_paid_after_the_hold_where_the_party_still_fits(world: World, held: Booking) -> None:
    assert "Thank you: paid" in late_payment(world, held)
    held.refresh_from_db()
    assert (held.state, balance(held), coming_back(held)) == ("confirmed", 0, 0)


def test_paid_after_the_hold_where_others_have_the_places(world: World, held: Booking) -> None:
    Site.objects.update(most_people=4)
    with time_machine.travel(later(world, 21), tick=False):
        lapse_next_hold(now=later(world, 21))
        hold_places(world.order("adult"), by="participant", now=later(world, 21))
    said = late_payment(world, held)
    held.refresh_from_db()
    assert (held.state, coming_back(held), accounts()["card"]) == ("waiting", 3600, 3600)
    assert WaitingEntry.objects.filter(booking=held).exists()
    assert OutboxMessage.objects.filter(booking=held, kind="paid_too_late").count() == 1
    assert "You are on the waiting list, and all of it is promised back to you" in said


EXPONENTS = {"JPY": 0, "KRW": 0, "GBP": 2, "EUR": 2, "KWD": 3, "TND": 3, "BHD": 3}


def trade_in(world: World, currency: str, price_minor: int) -> None:
    Business.objects.update(currency=currency)
    body = world.offering.prices.body
    body = body | {"currency": currency, "by_band": dict.fromkeys(body["by_band"], price_minor)}
    world.offering.prices = PolicyVersion.objects.create(
        kind="prices", number=9, source="the cast", since=world.now, body=body
    )
    world.offering.save(update_fields=["prices"])


@pytest.mark.parametrize("currency", EXPONENTS)
def test_amounts_go_to_the_provider_and_come_back_exactly(world: World, currency: str) -> None:
    """Decimals by ISO 4217 (tests/published/currencies_iso_4217.toml): 12,345 minor units a place, two places."""
    trade_in(world, currency, 12345)
    booking = book_places(world.order(), by="participant", now=world.now)
    payment = CardPayment.objects.get(pk=begin(booking, now=world.now).pk)
    assert (payment.currency, payment.asked_minor) == (currency, 24690)
    assert payment.total == Decimal(24690).scaleb(-EXPONENTS[currency])
    assert send(payment, notice(payment, "confirmed", 24690)) == 200
    payment.refresh_from_db()
    assert (payment.captured_minor, balance(booking), accounts()["card"]) == (24690, 0, 24690)


class Hundredths(BasicProvider):
    """Code as the package has it for one provider: a hundredth is the minor unit, but of a list of currencies."""

    def convert_amount(self, currency: str, amount: Decimal) -> int:
        return int(amount * (1 if currency in ("JPY", "KRW") else 100))


HUNDREDTHS = {"card": (f"{__name__}.Hundredths", {})}


def test_code_that_would_ask_for_another_amount_is_not_used(world: World, settings: Any) -> None:
    """The package counts hundredths of every currency but a list of its own: ten times too little of a dinar."""
    provider = Hundredths()
    right = {one: sends_exactly(provider, one) for one in EXPONENTS}
    assert right == {"JPY": True, "KRW": True, "GBP": True, "EUR": True, "KWD": False, "TND": False, "BHD": False}
    assert provider.convert_amount("KWD", in_major(12345, "KWD")) == 1234
    settings.PAYMENT_VARIANTS = HUNDREDTHS
    assert takes_cards()
    Business.objects.update(currency="KWD")
    assert not takes_cards()
    assert "may ask for another amount of KWD" in said_to_the_office(world)


def said_to_the_office(world: World) -> str:
    return words_of(signed_in(world.olive).get(reverse("staff_cards")).content)


def test_the_office_reads_why_nobody_is_offered_to_pay_by_card(world: World, settings: Any) -> None:
    assert "Nobody is offered to pay by card" not in said_to_the_office(world)
    Business.objects.update(is_demonstration=False)
    assert "only the practice provider is set up" in said_to_the_office(world)
    settings.PAYMENT_VARIANTS = {}
    assert "no card provider is set up. Set CARD_PROVIDER" in said_to_the_office(world)


def test_code_that_says_nothing_of_minor_units_is_trusted_with_two_decimals_alone() -> None:
    silent = BasicProvider()
    assert [sends_exactly(silent, one) for one in ("GBP", "JPY", "KWD")] == [True, False, False]


def test_the_settings_say_how_long_pages_of_other_providers_live(world: World, settings: Any) -> None:
    settings.PAYMENT_VARIANTS = HUNDREDTHS
    assert card_provider.page_end(now=world.now) is None
    settings.CARD_PAGE_LIVES = timedelta(minutes=45)
    assert card_provider.page_end(now=world.now) == later(world, 45)


def test_the_form_passes_the_end_of_the_page_to_the_hold(world: World) -> None:
    held = hold_for_the_card(world.order(), by="participant", now=world.now)
    assert held.session_ends_at == later(world, 30)


def test_a_hold_that_began_without_a_page_ends_with_the_page_it_is_paid_on(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(PracticeProvider, "page_lives", timedelta(minutes=12))
    held = hold_places(world.order(), by="participant", now=world.now)
    begin(held, now=world.now)
    held.refresh_from_db()
    assert (held.held_until, held.session_ends_at) == (later(world, 12), later(world, 12))
