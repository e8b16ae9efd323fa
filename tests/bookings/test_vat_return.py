"""The tax return and the season report say what the ledger says, whatever happened in the season."""

from __future__ import annotations

import csv
from collections import Counter
from datetime import date, timedelta
from decimal import Decimal
from io import StringIO

import pytest
from django.db.models import QuerySet
from django.test import Client
from django.urls import reverse

from bookings.card_costs import fees_of_no_walk
from bookings.dues import unpaid
from bookings.models import Booking, Invoice, Transfer
from bookings.needs import money
from bookings.services.book_places import book_places
from bookings.services.cancel_booking import cancel_booking
from bookings.services.invoicing import due_by_line, invoiced_by_key
from bookings.services.issue_voucher import issue_voucher
from bookings.services.record_payment import record_payment
from bookings.services.take_income import take_next_income
from bookings.takings import takings_of
from bookings.vat_return import by_day, by_rate, promised_back, tax_points, total
from bookings.views.booking_list import MONEY, all_bookings
from foraywright.floor.compute.money import as_text
from foraywright.floor.models import Business
from tests.bookings.books import Books
from tests.bookings.test_places_machine import Places, run
from tests.cast import World
from tests.pages import signed_in, words_of
from walks.models import Offering

pytestmark = pytest.mark.database
ALWAYS = (date(2000, 1, 1), date(2100, 1, 1))
SOLD = ("deferred_income", "income", "vat", "voucher_tax")


class Seasons(Places):
    """The machine of places; when a run ends, its season is read."""

    def teardown(self) -> None:
        try:
            self.check_the_reports()
            self.now += timedelta(days=365)
            while take_next_income(now=self.now):
                pass
            self.check_the_reports(over=True)
        finally:
            super().teardown()

    def check_the_reports(self, *, over: bool = False) -> None:
        books = Books()
        ledger = {one.pk: Counter[str]() for one in self.offerings}
        for booking in books.bookings:
            ledger[booking.offering_id].subtract(books.of(booking))
        for one in takings_of(list(Offering.objects.select_related("prices", "theme").order_by("pk"))):
            sums = ledger[one.offering.pk]
            assert one.sold == sum(sums[key] for key in SOLD)
            assert one.tax_owed == sums["vat"] + sums["voucher_tax"] <= one.tax
            assert not over or (one.net, one.tax, 0) == (sums["income"], one.tax_owed, sums["deferred_income"])
        points = tax_points(*ALWAYS)
        assert total(points) == sum(one.tax_minor for one in by_rate(points)) == -books.accounts["vat"]
        assert None not in {one.basis_points for one in points}
        self.check_the_papers(books)
        self.check_what_waits(books)
        self.check_the_export(books, ledger)

    def check_the_papers(self, books: Books) -> None:
        """Invoices less credit notes never ask for more than is due, line by line and in all."""
        for booking in books.bookings:
            papers = booking.invoices.exclude(kind=Invoice.Kind.RECEIPT)
            sums = [one.total_minor * (-1 if one.kind == Invoice.Kind.CREDIT_NOTE else 1) for one in papers]
            invoiced, due = invoiced_by_key(booking), {one.key: one.gross_minor for one in due_by_line(booking)}
            assert sum(sums) == sum(invoiced.values()) <= books.due(booking)
            assert all(0 <= amount <= due[key] for key, amount in invoiced.items())

    def check_what_waits(self, books: Books) -> None:
        """Today and the list of bookings name what the ledger has, to the penny."""
        owed = {account: _owed_to(books, account) for account in ("refunds_due", "unmatched", "awaiting_choice")}
        assert promised_back() == sum(owed["refunds_due"].values()) + sum(owed["awaiting_choice"].values())
        for look, account in ((money.refunds, "refunds_due"), (money.unmatched, "unmatched")):
            named = sorted((one.words.split(" ")[0], one.address.split("/")[-3]) for one in look(self.now))
            assert named == sorted((as_text(sum, "GBP"), code) for code, sum in owed[account].items())
        ends = Booking.objects.exclude(state=Booking.State.CONFIRMED)
        debts = [one.words.split(" ")[0] for one in money.ended_debts(self.now + timedelta(days=8))]
        assert sorted(debts) == sorted(as_text(sum, "GBP") for sum in _debts(books, ends))
        assert sum(one.dues.first + one.dues.later for one in unpaid(Booking.objects.all(), now=self.now)) == sum(
            _debts(books, Booking.objects.filter(state=Booking.State.CONFIRMED))
        )
        we_owe = set(all_bookings().filter(MONEY["due"]).values_list("code", flat=True))
        assert we_owe == {*owed["refunds_due"], *owed["awaiting_choice"], *_owed_to(books, "receivable")}

    def check_the_export(self, books: Books, ledger: dict[int, Counter[str]]) -> None:
        """The spreadsheet adds up to the ledger, and what cards and lost debts cost to their accounts."""
        days = {"first": ALWAYS[0].isoformat(), "last": ALWAYS[1].isoformat()}
        answer = signed_in(self.world.olive).get(reverse("staff_season_file", args=["csv"]), days)
        rows = list(csv.DictReader(StringIO(answer.content.decode("utf-8-sig"))))
        published = [sums for key, sums in ledger.items() if Offering.objects.get(pk=key).state != "draft"]
        sold = sum(sums[key] for sums in published for key in SOLD)
        assert sum(Decimal(one["Sold"]) for one in rows) * 100 == sold
        assert sum(Decimal(one["VAT owed by now"]) for one in rows) * 100 == sum(
            sums["vat"] + sums["voucher_tax"] for sums in published
        )
        lost = sum(Decimal(one["Costs"]) for one in rows) * 100 + fees_of_no_walk(*ALWAYS)
        assert lost == books.accounts["provider_fees"] + books.accounts["bad_debts"]


def _owed_to(books: Books, account: str) -> dict[str, int]:
    """What stands to the credit of `account`, by booking."""
    sums = {one.code: -books.of(one)[account] for one in books.bookings}
    return {code: sum for code, sum in sums.items() if sum > 0}


def _debts(books: Books, among: QuerySet[Booking]) -> list[int]:
    """What each of these bookings owes, where it owes anything."""
    owed = [books.of(one)["receivable"] for one in among]
    return [sum for sum in owed if sum > 0]


def test_reports_are_the_ledger_over_any_season(world: World) -> None:
    run(world, examples=6, steps=30, of=Seasons)


@pytest.fixture
def office(world: World, september: None) -> Client:
    client = Client()
    client.force_login(world.olive)
    return client


def pay(world: World, booking: Booking, amount: int, days: int) -> None:
    now = world.now + timedelta(days=days)
    record_payment(booking, into="bank", amount_minor=amount, by=world.olive, now=now)


def test_each_day_has_its_tax_and_periods_add_up(world: World) -> None:
    booking = book_places(world.order("adult", "adult"), by="participant", now=world.now)
    pay(world, booking, 1200, days=1)
    pay(world, booking, 2400, days=3)
    issue_voucher(value_minor=1200, into="cash", key="v", by=world.olive, now=world.now + timedelta(days=3))
    cancel_booking(booking, by="participant", now=world.walk.starts_at - timedelta(days=10))
    first = world.now.date()
    days = [(one.key[0] - first, one.key[2][:5], one.tax_minor) for one in by_day(tax_points(*ALWAYS))]
    left = (world.walk.starts_at - timedelta(days=10)).date() - first
    one, three = timedelta(days=1), timedelta(days=3)
    # By hand: a sixth of 1200, of 2400 and of the voucher; half of 3600 comes back, and a sixth of it is 300.
    assert days == [(one, "money", 200), (three, "money", 400), (three, "vouch", 200), (left, "promi", -300)]
    parts = [(ALWAYS[0], first + one), (first + 2 * one, first + three), (first + 4 * one, ALWAYS[1])]
    assert [total(tax_points(*part)) for part in parts] == [200, 600, -300]
    assert promised_back() == 1800


def test_a_day_is_that_of_the_business(world: World) -> None:
    Business.objects.update(zone="Europe/London")
    booking = book_places(world.order("adult"), by="participant", now=world.now)
    late = world.now.replace(hour=23, minute=30)
    record_payment(booking, into="bank", amount_minor=1800, by=world.olive, now=late)
    (point,) = tax_points(late.date() + timedelta(days=1), late.date() + timedelta(days=1))
    assert (point.tax_minor, point.day, point.booking) == (300, late.date() + timedelta(days=1), booking.code)


def test_what_was_booked_before_rates_were_noted_is_of_the_only_rate(world: World) -> None:
    booking = book_places(world.order("adult"), by="participant", now=world.now)
    accounts = booking.transfers.get()
    old = Transfer(
        at=world.now, kind="earned", debit=accounts.credit, amount_minor=300, currency="GBP", booking=booking
    )
    old.credit = type(accounts.credit).objects.get(key="vat")
    old.save()
    assert [one.basis_points for one in tax_points(*ALWAYS)] == [2000]
    pay(world, booking, 1800, days=0)
    assert total(tax_points(*ALWAYS)) == 300, "it stands there already"


def test_the_page_and_its_spreadsheet(office: Client, world: World) -> None:
    booking = book_places(world.order("adult"), by="participant", now=world.now)
    pay(world, booking, 2000, days=0)
    page = words_of(office.get(reverse("staff_vat_return")).content)
    assert "£3.00 of value added tax became owed" in page
    assert "At 20 %" in page
    assert "£2.00 is promised back today" in page
    rows = list(csv.DictReader(StringIO(office.get(reverse("staff_vat_return_file")).content.decode("utf-8-sig"))))
    assert [(one["Day"], one["Rate"], Decimal(one["Tax"]), one["Booking"]) for one in rows] == [
        (world.now.date().isoformat(), "20 %", Decimal("3.00"), booking.code)
    ]
    assert "No tax moved" in words_of(
        office.get(reverse("staff_vat_return"), {"first": "2030-01-01", "last": "2030-03-31"}).content
    )
    assert "Write both days" in words_of(office.get(reverse("staff_vat_return"), {"first": "soon", "last": ""}).content)
