"""Invoices, credit notes and receipts: what they say, their numbers, that they stay as they are."""

from __future__ import annotations

from datetime import timedelta
from functools import partial

import pytest
from django.db import IntegrityError, connection, transaction
from django.test import Client

from bookings.compute.invoices import Charged, rates_of, rows_of
from bookings.errors import NotInvoiced
from bookings.invoices import invoice_html
from bookings.models import Booking, Invoice
from bookings.queries import due
from bookings.services.book_places import book_places
from bookings.services.booking_link import booking_link
from bookings.services.cancel_booking import cancel_booking
from bookings.services.change_party import PartyChange, change_party, change_terms
from bookings.services.erase import forget_buyers
from bookings.services.issue_invoice import issue_invoice, issue_receipt
from bookings.services.join_waiting_list import join_waiting_list
from bookings.services.record_payment import record_payment
from foraywright.floor.models import Business
from foraywright.floor.pdf import Pdf
from tests.bookings.race import together
from tests.cast import World

pytestmark = pytest.mark.database
BUYER = "Pat Partridge\n1 Hedge Row"


@pytest.fixture
def booking(world: World) -> Booking:
    return book_places(world.order("adult", "adult", "4-8"), by="participant", now=world.now)


def invoiced(booking: Booking) -> int:
    """What the invoices of the booking come to, credit notes taken off."""
    sign = {"invoice": 1, "credit_note": -1, "receipt": 0}
    return sum(sign[one.kind] * one.total_minor for one in booking.invoices.all())


def test_an_invoice_says_what_is_due_and_pressing_twice_makes_one(world: World, booking: Booking) -> None:
    first = issue_invoice(booking, buyer=BUYER, by="participant", now=world.now)
    again = issue_invoice(booking, buyer="Another", by="participant", now=world.now)
    assert (first, first.kind, first.number, first.total_minor, first.buyer) == (again, "invoice", 1, 4500, BUYER)
    assert rows_of([Charged(**one) for one in first.lines])[0].count == 2


def test_what_ends_is_credited_at_once(world: World, booking: Booking) -> None:
    issue_invoice(booking, buyer=BUYER, by="participant", now=world.now)
    cancel_booking(booking, by="participant", now=world.walk.starts_at - timedelta(days=10))  # type: ignore[attr-defined]
    papers = list(booking.invoices.values_list("kind", "number", "total_minor", "buyer"))
    assert papers == [("invoice", 1, 4500, BUYER), ("credit_note", 1, 2250, BUYER)]
    assert invoiced(booking) == due(booking) == 2250


def test_who_waits_and_pays_all_the_same_has_a_receipt(world: World) -> None:
    book_places(world.order(*["adult"] * 12), by="participant", now=world.now)
    waiting = join_waiting_list(world.order(), by="participant", now=world.now)
    record_payment(waiting, into="bank", amount_minor=3600, by=world.olive, now=world.now)
    receipt = issue_receipt(waiting, buyer=BUYER, by=world.olive, now=world.now)
    assert (receipt.total_minor, receipt.currency) == (3600, "GBP")


def test_what_is_added_goes_on_a_second_invoice(world: World, booking: Booking) -> None:
    issue_invoice(booking, buyer=BUYER, by="participant", now=world.now)
    wanted = PartyChange(add=("adult",))
    terms = change_terms(booking, wanted, now=world.now).mark
    change_party(booking, wanted, terms=terms, key="k", by="participant", now=world.now)
    second = issue_invoice(booking, buyer=BUYER, by="participant", now=world.now)
    assert (second.number, second.total_minor) == (2, 1800)
    assert invoiced(booking) == due(booking) == 6300


def test_a_cancelled_booking_without_an_invoice_gets_no_credit_note(world: World, booking: Booking) -> None:
    cancel_booking(booking, by="participant", now=world.now)
    assert not Invoice.objects.exists()
    with pytest.raises(NotInvoiced, match="nothing was charged yet"):
        issue_invoice(booking, buyer=BUYER, by="participant", now=world.now)


def test_a_fee_that_was_kept_can_be_invoiced_afterwards(world: World, booking: Booking) -> None:
    cancel_booking(booking, by="participant", now=world.walk.starts_at - timedelta(days=10))  # type: ignore[attr-defined]
    fee = issue_invoice(booking, buyer=BUYER, by=world.olive, now=world.now)
    assert fee.total_minor == due(booking) == 2250
    assert "kept after cancellation" in fee.lines[0]["label"]


def test_each_payment_is_on_one_receipt(world: World, booking: Booking) -> None:
    with pytest.raises(NotInvoiced, match="nothing was paid yet"):
        issue_receipt(booking, buyer=BUYER, by="participant", now=world.now)
    for amount in (1000, 3500):
        record_payment(booking, into="cash", amount_minor=amount, by=world.olive, now=world.now)
        issued = issue_receipt(booking, buyer=BUYER, by="participant", now=world.now)
        assert (issued.total_minor, issued.number) == (amount, 1 if amount == 1000 else 2)
    assert issue_receipt(booking, buyer=BUYER, by="participant", now=world.now) == issued


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE bookings_invoice SET number = 7",
        "UPDATE bookings_invoice SET total_minor = 1",
        "UPDATE bookings_invoice SET lines = '[]'",
        "UPDATE bookings_invoice SET buyer = 'Somebody else'",
        "DELETE FROM bookings_invoice",
    ],
)
def test_the_database_refuses_to_change_what_was_issued(world: World, booking: Booking, statement: str) -> None:
    issue_invoice(booking, buyer=BUYER, by="participant", now=world.now)
    with pytest.raises(IntegrityError), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(statement)
    assert Invoice.objects.get().buyer == BUYER


def test_the_buyer_is_forgotten_after_six_years_and_not_before(world: World, booking: Booking) -> None:
    issue_invoice(booking, buyer=BUYER, by="participant", now=world.now)
    six_years = world.now.replace(year=world.now.year + 6)
    forget_buyers(now=six_years)
    assert Invoice.objects.get().buyer == BUYER
    forget_buyers(now=six_years + timedelta(days=1))
    assert Invoice.objects.get().buyer == ""
    assert "The name was erased" in invoice_html(Invoice.objects.get())


def test_tax_is_that_of_each_line_and_adds_up() -> None:
    lines = [*(Charged(key, "Adult", 1801, 2000) for key in "abc"), Charged("d", "Child", 900, 500)]
    rates = rates_of(lines)
    # By hand: 1801 · 20/120 = 300.17 three times (of the sum it would be 900.5); 900 · 5/105 = 42.86.
    assert [(one.basis_points, one.net_minor, one.vat_minor) for one in rates] == [(2000, 4503, 900), (500, 857, 43)]
    assert sum(one.net_minor + one.vat_minor for one in rates) == sum(one.gross_minor for one in lines)


def test_the_particulars_of_a_tax_invoice_are_printed(world: World, booking: Booking) -> None:
    """Value Added Tax Regulations 1995 (SI 1995/2518), regulation 14(1)(a) to (l), read on legislation.gov.uk."""
    Business.objects.update(vat_number="GB 000 0000 00", postal_address="2 Lane End")
    issued = issue_invoice(booking, buyer=BUYER, by="participant", now=world.now)
    page = invoice_html(issued)
    wanted = ("Invoice 1", "14 September 2026", "3 October 2026", "Cast and Company", "2 Lane End", "GB 000 0000 00")
    wanted += ("1 Hedge Row", "The bare wood", "20 %", "£37.50", "£7.50", "£45.00")
    assert [one for one in wanted if one not in page] == []


def test_a_seller_without_a_vat_number_prints_no_tax(world: World, booking: Booking) -> None:
    assert "VAT" not in invoice_html(issue_invoice(booking, buyer=BUYER, by="participant", now=world.now))


def test_a_copy_says_what_the_first_said_after_the_business_moved(world: World, booking: Booking) -> None:
    issued = issue_invoice(booking, buyer=BUYER, by="participant", now=world.now)
    before = invoice_html(Invoice.objects.get())
    Business.objects.update(name="Another name", postal_address="Elsewhere")
    assert invoice_html(Invoice.objects.get(pk=issued.pk)) == before


def test_by_the_booking_s_link_and_nobody_else_s(
    world: World, booking: Booking, client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("bookings.invoices.render_pdf", lambda *_, **__: Pdf(b"%PDF-", 1))
    here = f"/booking/{booking_link(booking, now=world.now)}/invoices/"
    assert client.post(here, {"invoice": "1", "buyer": ""}).status_code == 422
    page = client.post(here, {"invoice": "1", "buyer": BUYER}, follow=True).content.decode()
    assert "Invoice 1 is ready." in page
    mine = f"{Invoice.objects.get().public_id}.pdf"
    assert client.get(here + mine)["Content-Type"] == "application/pdf"
    other = book_places(world.order(), by="participant", now=world.now)
    assert client.get(f"/booking/{booking_link(other, now=world.now)}/invoices/{mine}").status_code == 404


def test_numbers_have_no_gaps_when_many_are_issued_at_once(real_world: World) -> None:
    world = real_world
    bookings = [book_places(world.order("adult"), by="participant", now=world.now) for _ in range(6)]
    ended = book_places(world.order("adult"), by="participant", now=world.now)
    cancel_booking(ended, by="participant", now=world.now)
    press = partial(issue_invoice, buyer=BUYER, by="participant", now=world.now)
    acts = [partial(press, one) for one in (*bookings, *bookings, ended)]
    outcomes = together(acts)
    assert [one.kind for one in outcomes] == ["done"] * 12 + ["refused"]
    assert sorted(Invoice.objects.values_list("number", flat=True)) == [1, 2, 3, 4, 5, 6]
    assert {one.words for one in outcomes[:12]} == {f"Invoice {n}" for n in range(1, 7)}
