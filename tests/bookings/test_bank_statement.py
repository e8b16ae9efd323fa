"""Taking in bank statements: what finds its booking, what waits, and that no penny counts twice."""

from __future__ import annotations

from collections import Counter

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from bookings.compute.references import creditor_reference, in_groups
from bookings.errors import NotMatched, NotTakenIn
from bookings.letters import letter
from bookings.models import BankLine, Booking, CallOffChoice, OutboxMessage, Transfer
from bookings.queries import balance, coming_back, paid, refund_due
from bookings.services.book_places import book_places
from bookings.services.call_off_walk import call_off_walk
from bookings.services.cancel_booking import cancel_booking
from bookings.services.match_bank_line import keep_card_payout, match_bank_line, return_bank_line, write_off_bank_line
from bookings.services.take_in_statement import take_in_and_match
from tests.bookings.erasing import erase_next_overdue
from tests.bookings.statements import Entry, statement
from tests.cast import World

pytestmark = pytest.mark.database


@pytest.fixture
def booking(world: World) -> Booking:
    return book_places(world.order(), by="participant", now=world.now)


def take_in(world: World, *entries: Entry, **how: str) -> tuple[int, int]:
    return take_in_and_match(statement(*entries, **how), by=world.olive, now=world.now)


def accounts() -> dict[str, int]:
    """Debits less credits by account, those that are not level."""
    sums: Counter[str] = Counter()
    for debit, credit, amount in Transfer.objects.values_list("debit__key", "credit__key", "amount_minor"):
        sums[debit] += amount
        sums[credit] -= amount
    return {key: amount for key, amount in sums.items() if amount}


def ref(booking: Booking) -> str:
    return creditor_reference(booking.code)


def test_a_payment_finds_its_booking_once_however_often_the_file_comes(world: World, booking: Booking) -> None:
    entry = Entry("36.00", f"my walk {in_groups(ref(booking)).lower()}")
    assert take_in(world, entry) == (1, 1)
    assert take_in(world, entry) == (0, 0)
    assert (balance(booking), paid(booking)) == (0, 3600)
    assert accounts() == {"bank": 3600, "deferred_income": -3000, "vat": -600}
    line = BankLine.objects.get()
    assert (line.state, line.booking) == ("matched", booking)


def test_partial_and_double_payments_are_settled(world: World, booking: Booking) -> None:
    take_in(world, Entry("10.00", structured=ref(booking)))
    assert (balance(booking), coming_back(booking)) == (2600, 0)
    take_in(world, Entry("36.00", structured=ref(booking), reference="E2"), name="another")
    assert (balance(booking), coming_back(booking)) == (0, 1000)


def test_each_payment_of_one_statement_is_told_by_itself_and_what_is_too_much_is_said(
    world: World, booking: Booking
) -> None:
    take_in(world, Entry("20.00", structured=ref(booking)), Entry("30.00", structured=ref(booking), reference="E2"))
    told = OutboxMessage.objects.filter(kind=OutboxMessage.Kind.PAYMENT).order_by("version")
    first, second = (str(letter(one, now=world.now).body) for one in told)
    assert "We have received £20.00 for" in first
    assert "We have received £30.00 for" in second
    assert "Together £36.00; £50.00 is paid." in second
    assert "£14.00 goes back to you, by the way it came." in second


def test_a_batch_pays_several_bookings(world: World, booking: Booking) -> None:
    other = book_places(world.order("adult"), by="participant", now=world.now)
    batch = Entry("54.00", parts=(("36.00", ref(booking)), ("18.00", ref(other))))
    assert take_in(world, batch) == (2, 2)
    assert (balance(booking), balance(other)) == (0, 0)


@pytest.mark.parametrize("text", ["no reference", "RF00AAAAAAA", "two"])
def test_what_finds_no_booking_or_two_waits_in_the_ledger(world: World, booking: Booking, text: str) -> None:
    other = book_places(world.order(), by="participant", now=world.now)
    written = f"{ref(booking)} {ref(other)}" if text == "two" else text
    assert take_in(world, Entry("36.00", written)) == (1, 0)
    assert accounts() == {"bank": 3600, "unmatched": -3600, "receivable": 7200, "deferred_income": -7200}


def test_a_person_settles_what_waits_once(world: World, booking: Booking) -> None:
    take_in(world, *(Entry("20.00", "?", reference=f"E{n}") for n in range(3)))
    one, two, three = BankLine.objects.all()
    match_bank_line(one, booking, by=world.olive, now=world.now)
    return_bank_line(two, reason="not ours", by=world.olive, now=world.now)
    write_off_bank_line(three, reason="nobody's", by=world.olive, now=world.now)
    held = {"bank": 4000, "receivable": 1600, "written_off": -2000}
    assert accounts() == held | {"deferred_income": -3267, "vat": -333}
    for again in (one, two, three):
        with pytest.raises(NotMatched, match="settled already"):
            match_bank_line(again, booking, by=world.olive, now=world.now)
    assert paid(booking) == 2000


def test_what_the_bank_took_back_is_owed_again(world: World, booking: Booking) -> None:
    take_in(world, Entry("36.00", ref(booking)))
    take_in(world, Entry("36.00", way="DBIT", is_reversal=True), Entry("7.00", way="DBIT", reference="E2"), name="next")
    assert accounts() == {"unmatched": 3600, "deferred_income": -3000, "vat": -600}
    line = BankLine.objects.get(state="waiting")
    with pytest.raises(NotMatched, match="money that came in"):
        return_bank_line(line, reason="no", by=world.olive, now=world.now)
    match_bank_line(line, booking, by=world.olive, now=world.now)
    assert (balance(booking), paid(booking)) == (3600, 0)
    assert accounts() == {"receivable": 3600, "deferred_income": -3600}
    assert BankLine.objects.filter(state="went_out").count() == 1


def test_what_the_bank_took_back_after_a_refund_was_promised_is_not_paid_back_as_well(
    world: World, booking: Booking
) -> None:
    take_in(world, Entry("36.00", ref(booking)))
    cancel_booking(booking, by="participant", now=world.now)
    assert refund_due(booking) == 3600
    take_in(world, Entry("40.00", way="DBIT", is_reversal=True), name="next")
    match_bank_line(BankLine.objects.get(state="waiting"), booking, by=world.olive, now=world.now)
    assert (refund_due(booking), balance(booking)) == (0, 400)
    assert accounts() == {"receivable": 400, "bank": -400}


def test_who_takes_the_money_of_a_called_off_walk_back_has_chosen_it(world: World, booking: Booking) -> None:
    take_in(world, Entry("36.00", ref(booking)))
    call_off_walk(world.offering, why="Storm.", by=world.olive, now=world.now)
    take_in(world, Entry("36.00", way="DBIT", is_reversal=True), name="next")
    match_bank_line(BankLine.objects.get(state="waiting"), booking, by=world.olive, now=world.now)
    assert CallOffChoice.objects.get().choice == CallOffChoice.Choice.REFUND
    assert accounts() == {}


def test_a_payment_in_the_statement_of_the_day_and_of_the_month_is_one(world: World, booking: Booking) -> None:
    entry = Entry("36.00", ref(booking))
    assert take_in(world, entry) == (1, 1)
    assert take_in(world, entry, Entry("5.00", "another", reference="E2"), name="2026-09") == (1, 0)
    assert (paid(booking), coming_back(booking)) == (3600, 0)
    assert accounts()["bank"] == 4100


def test_equal_payments_without_a_reference_of_the_bank_are_two(world: World) -> None:
    unnamed = statement(Entry("36.00", "?"), name="one").replace(b"<AcctSvcrRef>E1</AcctSvcrRef>", b"")
    for content in (unnamed, unnamed.replace(b"<Id>one</Id>", b"<Id>two</Id>")):
        take_in_and_match(content, by=world.olive, now=world.now)
    assert accounts() == {"bank": 7200, "unmatched": -7200}


def test_a_payment_under_the_name_of_another_is_not_passed_over(world: World) -> None:
    take_in(world, Entry("36.00", "?"))
    with pytest.raises(NotTakenIn, match=r"“E1” was taken in before, with another day or amount.*Note these payments"):
        take_in(world, Entry("20.00", "??"), Entry("7.00", reference="E2"))
    assert accounts() == {"bank": 3600, "unmatched": -3600}


@pytest.mark.parametrize("content", [b"<x/>", statement(Entry("5.00"), Entry("6.00", reference="E2", currency="EUR"))])
def test_a_refused_statement_leaves_nothing(world: World, content: bytes) -> None:
    with pytest.raises(NotTakenIn, match=r"these books are kept in GBP|no statement that we can read") as refused:
        take_in_and_match(content, by=world.olive, now=world.now)
    assert "No line of it was kept" in refused.value.sentence
    assert not BankLine.objects.exists()
    assert not Transfer.objects.exists()


def test_what_the_card_provider_passes_on_leaves_its_account(world: World) -> None:
    take_in(world, Entry("20.00", "payout 7"))
    keep_card_payout(BankLine.objects.get(), reason="payout", by=world.olive, now=world.now)
    assert accounts() == {"bank": 2000, "card": -2000}


def test_names_of_lines_without_a_booking_are_erased_in_time(world: World) -> None:
    take_in(world, Entry("5.00", "from Pat"))
    line = BankLine.objects.get()
    return_bank_line(line, reason="not ours", by=world.olive, now=world.now)
    erase_next_overdue(now=world.now)
    assert BankLine.objects.get().payer == "Pat Partridge"
    assert erase_next_overdue(now=world.now.replace(year=world.now.year + 8))
    assert (BankLine.objects.get().payer, BankLine.objects.get().text) == ("", "")


def test_the_office_takes_in_and_settles_on_pages(world: World, booking: Booking) -> None:
    client = Client()
    client.force_login(world.olive)
    sent = SimpleUploadedFile("s.xml", statement(Entry("36.00", "for Pat"), Entry("1.00", ref(booking), "E2")))
    client.post("/staff/money/", {"statement": sent})
    assert "for Pat" in client.get("/staff/money/").content.decode()
    address = f"/staff/money/lines/{BankLine.objects.get(state='waiting').public_id}/"
    assert client.post(address, {"what": "match", "code": "AAA AAA A"}).status_code == 422
    assert client.post(address, {"what": "return"}).status_code == 422
    assert client.post(address, {"what": "match", "code": booking.code.lower()}).status_code == 302
    assert (balance(booking), coming_back(booking)) == (0, 100)
    assert client.post(address, {"what": "write_off", "reason": "late"}).status_code == 422
    refused = client.post("/staff/money/", {"statement": SimpleUploadedFile("s.xml", b"<x/>")})
    assert (refused.status_code, b"was not taken in" in refused.content) == (422, True)
