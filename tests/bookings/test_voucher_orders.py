"""Vouchers ordered from outside and paid by transfer: no name, one voucher a payment, every penny in the ledger."""

from __future__ import annotations

import re

import pytest
import time_machine
from django.db.models import Case, F, Sum, When
from django.test import Client
from django.urls import reverse

from bookings.compute.references import creditor_reference
from bookings.models import BankLine, Transfer, Voucher, VoucherOrder
from bookings.services.book_places import book_places
from bookings.services.order_voucher import order_voucher
from bookings.services.pay_by_voucher import pay_by_voucher
from bookings.services.take_in_statement import take_in_and_match
from bookings.today import what_needs_somebody
from bookings.vouchers import left_on
from foraywright.floor.compute.short_codes import spoken
from foraywright.floor.ids import new_secret
from tests.bookings.statements import Entry, statement
from tests.cast import OFFICE, World
from tests.conftest import NOW

State = BankLine.State
PAGE = "/vouchers/"


@pytest.fixture
def order(world: World) -> VoucherOrder:
    return order_voucher(5000, key="k", by="participant", now=world.now)


def pays(world: World, order: VoucherOrder, amount: str, name: str = "1") -> BankLine:
    content = statement(Entry(amount, structured=creditor_reference(order.code), reference=f"E{name}"), name=name)
    take_in_and_match(content, by=world.olive, now=world.now)
    return BankLine.objects.get(statement=name)


def standing(account: str) -> int:
    """Minor units to the credit of the account."""
    signed = Case(
        When(credit__key=account, then=F("amount_minor")), When(debit__key=account, then=-F("amount_minor")), default=0
    )
    return Transfer.objects.aggregate(sum=Sum(signed))["sum"] or 0


@time_machine.travel(NOW, tick=False)
def test_ordered_on_the_page_paid_by_statement_spent_on_a_walk(world: World, client: Client) -> None:
    key = new_secret()
    answer = client.post(PAGE, {"key": key, "value": "50"})
    page = client.get(answer["Location"]).content.decode()
    order = VoucherOrder.objects.get()
    assert "A voucher for £50.00" in page
    assert " ".join(re.findall("....|.+", creditor_reference(order.code))) in page
    assert client.get(f"{answer['Location']}voucher.pdf").status_code == 404
    pays(world, order, "50.00")
    voucher = Voucher.objects.get()
    assert spoken(voucher.code) in client.get(answer["Location"]).content.decode()
    booking = book_places(world.order(), by="participant", now=world.now)
    assert pay_by_voucher(booking, voucher.code, by="participant", now=world.now) == 3600
    assert left_on(voucher) == 1400


@time_machine.travel(NOW, tick=False)
def test_the_form_sent_twice_is_one_order(world: World, client: Client) -> None:
    key = new_secret()
    for _ in range(2):
        assert client.post(PAGE, {"key": key, "value": "50"}).status_code == 302
    assert VoucherOrder.objects.count() == 1


@pytest.mark.parametrize("typed", ["0", "-5", "1000.01", "much"])
def test_what_no_voucher_is_worth_is_refused(world: World, client: Client, typed: str) -> None:
    assert client.post(PAGE, {"key": "k", "value": typed}).status_code == 422
    assert not VoucherOrder.objects.exists()


def test_an_address_orders_so_many_an_hour(world: World, client: Client) -> None:
    answers = [client.post(PAGE, {"key": f"k{n}", "value": "50"}) for n in range(7)]
    assert [one.status_code for one in answers] == [302] * 6 + [422]
    assert int(answers[-1]["Retry-After"]) > 0


def test_a_forged_link_opens_nothing(world: World, client: Client) -> None:
    assert client.get(reverse("voucher_order", args=["forged"])).status_code == 404


@pytest.mark.database
def test_the_money_stands_once_in_the_ledger(world: World, order: VoucherOrder) -> None:
    line = pays(world, order, "50.00")
    assert line.state == State.FOR_VOUCHER
    assert (standing("bank"), standing("vouchers_out"), standing("unmatched")) == (-5000, 5000, 0)
    take_in_and_match(
        statement(Entry("50.00", structured=creditor_reference(order.code), reference="E1"), name="1"),
        by=world.olive,
        now=world.now,
    )
    assert Voucher.objects.count() == 1


@pytest.mark.parametrize(("first", "second"), [("40.00", None), ("50.00", "50.00")])
def test_another_amount_or_a_second_payment_waits_for_a_person(
    world: World, order: VoucherOrder, first: str, second: str | None
) -> None:
    line = pays(world, order, first)
    if second:
        line = pays(world, order, second, name="2")
    assert line.state == State.WAITING
    assert [one.words for one in what_needs_somebody(OFFICE, now=world.now) if "bank statement" in one.words]
    assert standing("unmatched") == line.amount_minor


def test_the_office_issues_one_worth_what_came(world: World, order: VoucherOrder, olive: Client) -> None:
    line = pays(world, order, "40.00")
    page = reverse("staff_bank_line", args=[line.public_id])
    assert "issue one worth this amount" in olive.get(page).content.decode()
    assert olive.post(page, {"what": "voucher"}).status_code == 302
    voucher = order.vouchers.get()
    assert (voucher.value_minor, standing("unmatched"), standing("vouchers_out")) == (4000, 0, 4000)
    assert "as the reference" in olive.get(reverse("staff_voucher", args=[voucher.public_id])).content.decode()


def test_a_line_that_names_no_order_offers_no_voucher(world: World, olive: Client) -> None:
    take_in_and_match(statement(Entry("40.00", text="thank you")), by=world.olive, now=world.now)
    page = reverse("staff_bank_line", args=[BankLine.objects.get().public_id])
    assert "issue one worth" not in olive.get(page).content.decode()
    assert olive.post(page, {"what": "voucher"}).status_code == 422


@pytest.mark.django_db
def test_before_there_is_a_business_no_voucher_is_offered(client: Client) -> None:
    assert PAGE not in client.get("/").content.decode()
    assert client.post(PAGE, {"key": "k", "value": "50"}).status_code == 404
