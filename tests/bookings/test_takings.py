"""What walks earn and cost: in figures, in charts, and in a spreadsheet that runs nothing."""

from __future__ import annotations

import csv
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from fractions import Fraction
from io import BytesIO, StringIO

import pytest
from django.db.models import Case, F, Sum, When
from django.test import Client
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import load_workbook

from bookings.compute.bar_chart import BASE, FULL, bars
from bookings.compute.break_even import break_even, without_vat
from bookings.compute.spreadsheet import inert
from bookings.models import Booking, Transfer, WalkCost
from bookings.services.book_places import book_places
from bookings.services.cancel_booking import cancel_booking
from bookings.services.change_party import PartyChange, change_party, change_terms
from bookings.services.note_cost import note_cost
from bookings.services.take_income import take_next_income
from bookings.takings import offerings_between, summed, takings_of
from foraywright.floor.models import PolicyVersion
from tests.cast import World
from tests.conftest import NOW
from tests.pages import words_of
from walks.models import Walk
from walks.services.publish_walk import publish_walk
from walks.services.schedule_walk import schedule_walk

pytestmark = pytest.mark.usefixtures("september")


@pytest.fixture
def office(world: World) -> Client:
    client = Client()
    client.force_login(world.olive)
    return client


@pytest.mark.parametrize(
    ("fixed", "price", "each", "enough"),
    [(20000, 1500, 500, 20), (20001, 1500, 500, 21), (0, 1500, 500, 0), (100, 500, 500, None), (100, 400, 500, None)],
)
def test_the_fewest_people_whose_prices_cover_the_costs(fixed: int, price: int, each: int, enough: int | None) -> None:
    assert break_even(fixed, Fraction(price), each) == enough


@given(st.integers(1, 10**7), st.integers(1, 10**5), st.integers(0, 10**5))
def test_one_fewer_never_covers_them(fixed: int, price: int, each: int) -> None:
    enough = break_even(fixed, Fraction(price), each)
    if enough is None:
        assert price <= each
    else:
        assert enough * (price - each) >= fixed > (enough - 1) * (price - each)


def test_vat_is_taken_out_of_a_price_and_not_off_it() -> None:
    assert without_vat(1200, 2000) == 1000


@pytest.mark.parametrize(
    ("typed", "shown"),
    [
        ("=1+1", "'=1+1"),
        ("+cmd|' /C calc'!A0", "'+cmd|' /C calc'!A0"),
        ("@SUM(A1)", "'@SUM(A1)"),
        ("-2+3", "'-2+3"),
        ("\t=1", "'\t=1"),
        ("\x00=1", "'=1"),
        ("\x01=1", "'=1"),
        ("+44 1632 960118", "+44 1632 960118"),
        ("The bare wood", "The bare wood"),
        ("", ""),
    ],
)
def test_no_cell_is_run_as_a_formula(typed: str, shown: str) -> None:
    assert inert(typed) == shown


def test_bars_stand_on_their_line_and_the_highest_fills_the_chart() -> None:
    drawn = bars([("Sep", "3 of 12", 3, 12), ("Oct", "6 of 6", 6, 6)])
    assert [one.height for one in drawn] == [FULL / 4, FULL / 2]
    assert [one.outer for one in drawn] == [FULL, FULL / 2]
    assert all(one.top + one.height == BASE for one in drawn)
    assert drawn[0].left + drawn[0].width < drawn[1].left
    assert bars([]) == []


def test_the_takings_of_a_walk(world: World) -> None:
    book_places(world.order("adult", "adult"), by="participant", now=NOW)
    gone = book_places(world.order("adult", key="g" * 24), by="participant", now=NOW)
    cancel_booking(gone, by="participant", now=NOW)
    note_cost(world.offering, kind="guides", amount_minor=9000, for_each=False, by=world.olive, now=NOW)
    note_cost(world.offering, kind="material", amount_minor=200, for_each=True, by=world.olive, now=NOW)
    (found,) = takings_of([world.offering])
    adult = world.offering.prices.body["by_band"]["adult"]
    assert (found.people, found.sold) == (2, 2 * adult)
    assert found.costs == 9000 + 2 * 200
    net = without_vat(adult, world.offering.prices.body["vat_basis_points"])
    assert found.enough == break_even(9000, net, 200)
    assert found.left == found.net - found.costs
    assert found.offered >= found.people


def test_the_takings_are_what_the_ledger_takes_for_income_to_the_penny(world: World) -> None:
    """Odd prices, a part cancelled at half its price and a booking cancelled for nothing: pennies are rounded alike."""
    by_band = dict.fromkeys(world.offering.prices.body["by_band"], 1799)
    body = world.offering.prices.body | {"by_band": by_band, "vat_basis_points": 1750}
    world.offering.prices = PolicyVersion.objects.create(kind="prices", number=9, body=body, source="cast", since=NOW)
    world.offering.save(update_fields=["prices"])
    start = world.walk.starts_at
    for number in range(3):
        book_places(world.order("adult", "adult", "adult", key=f"{number}" * 24), by="participant", now=NOW)
    part, late = Booking.objects.order_by("pk")[:2]
    gone = part.party.people.latest("pk")
    then = start - timedelta(days=10)
    wanted = PartyChange(remove=frozenset({gone.public_id}))
    terms = change_terms(part, wanted, now=then).mark
    change_party(part, wanted, terms=terms, key="p" * 24, by="participant", now=then)
    cancel_booking(late, by="participant", now=start - timedelta(hours=2))
    (found,) = takings_of([world.offering])
    while take_next_income(now=world.walk.ends_at):
        pass
    taken = {key: _credit(key) for key in ("income", "vat", "deferred_income")}
    assert taken == {"income": found.net, "vat": found.sold - found.net, "deferred_income": 0}
    assert 0 < found.net < found.sold < 9 * 1799


def _credit(account: str) -> int:
    signed = Case(
        When(credit__key=account, then=F("amount_minor")), When(debit__key=account, then=-F("amount_minor")), default=0
    )
    return Transfer.objects.aggregate(sum=Sum(signed))["sum"]


def test_a_season_is_added_up_by_month(world: World) -> None:
    book_places(world.order("adult"), by="participant", now=NOW)
    found = takings_of(offerings_between(date(2026, 9, 1), date(2026, 12, 31)))
    (october,) = summed(found, lambda one: f"{one.first_day:%b}")
    assert (october.label, october.people) == ("Oct", 1)
    assert offerings_between(date(2027, 1, 1), date(2027, 12, 31)) == []


def test_a_month_that_comes_twice_has_a_bar_for_each_year(office: Client, world: World) -> None:
    draft = schedule_walk(
        world.plan(world.session(local_date=date(2026, 10, 10)), title="Next"), by=world.olive, now=NOW
    )
    publish_walk(draft, by=world.olive, now=NOW)
    Walk.objects.filter(offering=draft).update(local_date=date(2027, 10, 9))
    page = words_of(office.get("/staff/season/?first=2026-10-01&last=2027-10-31").content)
    assert "Oct 2026 0 of" in page
    assert "Oct 2027 0 of" in page


def test_the_office_notes_a_cost_and_takes_it_out(office: Client, world: World) -> None:
    address = f"/staff/walks/{world.offering.public_id}/money/"
    assert office.post(address, {"kind": "guides", "amount": "0"}).status_code == 422
    assert office.post(address, {"kind": "guides", "amount": "eighty"}).status_code == 422
    assert office.post(address, {"kind": "guides", "amount": "999999999"}).status_code == 422
    office.post(address, {"kind": "guides", "amount": "85.50"})
    cost = WalkCost.objects.get()
    assert cost.amount_minor == 8550
    assert "£85.50" in office.get(address).content.decode()
    office.post(f"/staff/costs/{cost.public_id}/remove/")
    assert not WalkCost.objects.exists()


def test_the_spreadsheet_reads_back_and_runs_nothing(office: Client, world: World) -> None:
    world.offering.title = '=HYPERLINK("http://evil","x")'
    world.offering.save()
    book_places(world.order("adult"), by="participant", now=NOW)
    sheet = load_workbook(BytesIO(office.get("/staff/season.xlsx").content)).active
    assert sheet is not None
    cells = {str(head.value): cell for head, cell in zip(sheet[1], sheet[2], strict=True)}
    assert cells["Walk"].value == "'" + world.offering.title
    assert {cell.data_type for cell in sheet[2]} <= {"s", "n", "d"}
    assert cells["Day"].value == datetime.combine(world.walk.local_date, time())
    assert cells["Sold"].number_format == "0.00"
    assert office.get("/staff/season.ods").status_code == 404
    assert cells["Sold"].value == world.offering.prices.body["by_band"]["adult"] / 100
    rows = list(csv.DictReader(StringIO(office.get("/staff/season.csv").content.decode("utf-8-sig"))))
    assert rows[0]["Walk"] == "'" + world.offering.title
    assert Decimal(rows[0]["Sold"]) * 100 == world.offering.prices.body["by_band"]["adult"]


def test_the_season_page_says_it_in_a_chart_and_a_table(office: Client, world: World) -> None:
    book_places(world.order("adult"), by="participant", now=NOW)
    page = office.get("/staff/season/").content.decode()
    assert "<title>Places sold of places offered: Oct 1 of" in page
    assert 'value="2026-03-16"' in page, "half a year back, as a date field of the browser takes it"
    assert "Nothing was offered" in office.get("/staff/season/?first=2030-01-01&last=2030-02-01").content.decode()
    assert "Write both days" in office.get("/staff/season/?first=soon&last=2030-02-01").content.decode()
