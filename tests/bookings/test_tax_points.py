"""When tax is owed: from the payment, the invoice or the walk, whichever comes first, and as far as it reaches."""

from __future__ import annotations

from datetime import timedelta
from fractions import Fraction
from io import StringIO

import pytest
from django.core.management import call_command
from hypothesis import given
from hypothesis import strategies as st

from bookings.compute.tax_points import Taxable, chargeable, voucher_part, without_vouchers
from bookings.models import Booking, Transfer
from bookings.queries import credited
from bookings.services.book_places import book_places
from bookings.services.call_off_walk import call_off_walk
from bookings.services.cancel_booking import cancel_booking
from bookings.services.change_party import PartyChange, change_party, change_terms
from bookings.services.issue_invoice import issue_invoice
from bookings.services.issue_voucher import issue_voucher
from bookings.services.pay_by_voucher import pay_by_voucher
from bookings.services.record_payment import record_payment
from bookings.services.take_income import take_next_income
from foraywright.floor.compute.money import tax_within
from foraywright.floor.models import AuditLine
from tests.cast import World

RATES = st.sampled_from([0, 500, 700, 1900, 2000])


@st.composite
def taxables(draw: st.DrawFn) -> Taxable:
    due = draw(st.integers(0, 9000))
    return Taxable(due, draw(st.integers(0, due)), draw(st.integers(0, due)), draw(RATES))


LINES = st.lists(taxables(), max_size=5)


def tax_of(lines: list[Taxable]) -> int:
    return sum(tax_within(one.due_minor, one.basis_points) for one in lines)


def total(lines: list[Taxable], received: int) -> int:
    return sum(chargeable(lines, received).values())


@given(LINES, st.integers(-100, 50_000), st.integers(0, 5000))
def test_the_tax_is_within_that_of_the_lines_and_never_falls_when_more_comes(
    lines: list[Taxable], received: int, more: int
) -> None:
    before, after = chargeable(lines, received), chargeable(lines, received + more)
    assert before.keys() == after.keys() == {one.basis_points for one in lines} - {0}
    for rate, tax in before.items():
        assert 0 <= tax <= after[rate] <= tax_of([one for one in lines if one.basis_points == rate])


@given(LINES, st.integers(0, 1000))
def test_all_of_it_is_owed_when_all_is_paid_and_when_all_is_performed(lines: list[Taxable], beyond: int) -> None:
    assert total(lines, sum(one.due_minor for one in lines) + beyond) == tax_of(lines)
    assert total([Taxable(one.due_minor, 0, one.due_minor, one.basis_points) for one in lines], 0) == tax_of(lines)


@given(LINES)
def test_money_for_what_is_invoiced_or_performed_owes_no_more(lines: list[Taxable]) -> None:
    covered = sum(one.covered_minor for one in lines)
    assert total(lines, 0) == total(lines, covered)


@given(st.integers(1, 100_000), st.integers(0, 100_000), RATES)
def test_of_one_line_it_is_the_tax_in_what_came_to_a_penny(due: int, received: int, rate: int) -> None:
    exact = Fraction(min(received, due) * rate, 10_000 + rate)
    assert abs(total([Taxable(due, 0, 0, rate)], received) - exact) <= 1


@given(st.lists(st.integers(1, 500), min_size=1, max_size=9), RATES)
def test_the_parts_of_a_voucher_hold_no_more_tax_than_it_owed(parts: list[int], rate: int) -> None:
    owed = tax_within(sum(parts), rate)
    assert sum(voucher_part(one, rate, whole=len(parts) == 1) for one in parts) <= owed
    assert voucher_part(sum(parts), rate, whole=True) == owed


@given(st.dictionaries(RATES, st.integers(0, 900)), st.lists(st.tuples(RATES, st.integers(0, 900))))
def test_tax_of_vouchers_comes_off_and_never_below_nothing(
    owed: dict[int, int], vouchers: list[tuple[int, int]]
) -> None:
    rest = without_vouchers(owed, vouchers)
    assert all(0 <= rest[rate] <= owed[rate] for rate in owed)
    gone = sum(owed.values()) - sum(rest.values())
    assert gone == min(sum(owed.values()), sum(tax for _, tax in vouchers))


def test_a_voucher_comes_off_its_own_rate_first() -> None:
    assert without_vouchers({2000: 300, 500: 100}, [(500, 150)]) == {2000: 250, 500: 0}


PUBLISHED = [
    # De Voil Indirect Tax Service V3.133 (its free part, read on 2026-11-26): "a payment of £100 in respect of a supply
    # the consideration for which is £300 gives rise to a tax point only in respect of the £100 payment". At 20 % by
    # hand: 100 · 20/120.
    ([Taxable(30_000, 0, 0, 2000)], 10_000, {2000: 1667}),
    # Kreston Reeves on HMRC's Brief 13/2018 (2019-01-25, read on 2026-11-26): a hotel booked for £100 plus VAT of £20
    # and paid; the VAT is declared at the time of booking …
    ([Taxable(12_000, 0, 0, 2000)], 12_000, {2000: 2000}),
    # … and stays owed from 1 March 2019 on where the guest cancels and the hotel keeps the payment.
    ([Taxable(12_000, 0, 12_000, 2000)], 12_000, {2000: 2000}),
    # HMRC manual VATTOS2225: "There will always be a further tax point where the amount invoiced or paid is less than
    # the full value". By hand: invoiced in full, paid in part; the payment makes nothing more owed.
    ([Taxable(12_000, 12_000, 0, 2000)], 5_000, {2000: 2000}),
    # By hand: two rates, half is paid; 100 of 200 at 20 % hold 33.33, of 210 at 5 % are 10, half of it 5.
    ([Taxable(20_000, 0, 0, 2000), Taxable(21_000, 0, 0, 500)], 20_500, {2000: 1667, 500: 500}),
    # By hand: the first line is invoiced; 10 of the 210 beyond it hold a 21st of 10.
    ([Taxable(12_000, 12_000, 0, 2000), Taxable(21_000, 0, 0, 500)], 13_000, {2000: 2000, 500: 48}),
]


@pytest.mark.parametrize(("lines", "received", "owed"), PUBLISHED)
def test_worked_examples(lines: list[Taxable], received: int, owed: dict[int, int]) -> None:
    assert chargeable(lines, received) == owed


@pytest.fixture
def booking(world: World) -> Booking:
    return book_places(world.order("adult", "adult"), by="participant", now=world.now)


def pay(world: World, booking: Booking, amount: int) -> None:
    record_payment(booking, into="bank", amount_minor=amount, by=world.olive, now=world.now)


def stands(booking: Booking) -> tuple[int, int, int]:
    """Tax, income, and what is sold and not yet held."""
    return credited(booking, "vat"), credited(booking, "income"), credited(booking, "deferred_income")


@pytest.mark.database
def test_the_tax_in_a_payment_is_owed_on_the_day_it_comes(world: World, booking: Booking) -> None:
    assert stands(booking) == (0, 0, 3600)
    pay(world, booking, 1200)
    assert stands(booking) == (200, 0, 3400)
    tax = booking.transfers.get(credit__key="vat")
    assert (tax.kind, tax.vat_basis_points, tax.at) == ("tax", 2000, world.now)
    take_next_income(now=world.walk.ends_at)
    assert stands(booking) == (600, 3000, 0)
    assert booking.transfers.filter(credit__key="vat").latest("pk").kind == "earned"


@pytest.mark.database
def test_an_invoice_makes_all_of_it_owed_and_its_payment_nothing_more(world: World, booking: Booking) -> None:
    issue_invoice(booking, buyer="Pat", by="participant", now=world.now)
    assert stands(booking) == (600, 0, 3000)
    count = Transfer.objects.filter(kind="tax").count()
    pay(world, booking, 3600)
    assert (stands(booking), Transfer.objects.filter(kind="tax").count()) == ((600, 0, 3000), count)


@pytest.mark.database
def test_what_is_added_after_the_invoice_owes_its_tax_from_its_own_payment_on(world: World, booking: Booking) -> None:
    issue_invoice(booking, buyer="Pat", by="participant", now=world.now)
    wanted = PartyChange(add=("adult",))
    terms = change_terms(booking, wanted, now=world.now).mark
    change_party(booking, wanted, terms=terms, key="k", by="participant", now=world.now)
    pay(world, booking, 3600)
    assert credited(booking, "vat") == 600
    pay(world, booking, 600)
    assert credited(booking, "vat") == 700


@pytest.mark.database
def test_a_cancellation_takes_back_the_tax_of_what_comes_back(world: World, booking: Booking) -> None:
    pay(world, booking, 3600)
    cancel_booking(booking, by="participant", now=world.walk.starts_at - timedelta(days=10))
    assert stands(booking) == (300, 0, 1500)


@pytest.mark.database
def test_what_was_kept_owes_its_tax_though_nobody_paid(world: World, booking: Booking) -> None:
    cancel_booking(booking, by="participant", now=world.walk.starts_at - timedelta(days=10))
    assert stands(booking) == (300, 0, 1500)


@pytest.mark.database
def test_a_walk_called_off_takes_all_of_it_back(world: World, booking: Booking) -> None:
    pay(world, booking, 3600)
    call_off_walk(world.offering, why="Storm.", by=world.olive, now=world.now)
    assert stands(booking) == (0, 0, 0)


@pytest.mark.database
def test_a_single_purpose_voucher_owes_its_tax_once_from_its_sale_on(world: World, booking: Booking) -> None:
    voucher = issue_voucher(value_minor=1200, into="cash", key="v", by=world.olive, now=world.now)
    pay_by_voucher(booking, voucher.code, by="participant", now=world.now)
    assert (credited(booking, "vat"), credited(booking, "voucher_tax")) == (0, 200)
    pay(world, booking, 1200)
    assert (credited(booking, "vat"), credited(booking, "voucher_tax")) == (200, 200)
    sold = Transfer.objects.get(voucher=voucher, credit__key="vat")
    assert (sold.amount_minor, sold.vat_basis_points) == (200, 2000)


def books_of_before(world: World, monkeypatch: pytest.MonkeyPatch) -> Booking:
    """A booking that was paid when tax was booked after the walk alone."""
    with monkeypatch.context() as before:
        before.setattr("bookings.services.settle_money.book_tax", lambda *_, **__: None)
        booking = book_places(world.order("adult", "adult"), by="participant", now=world.now)
        pay(world, booking, 3600)
    return booking


@pytest.mark.database
def test_books_of_before_are_brought_to_the_rule_once(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    booking = books_of_before(world, monkeypatch)
    right = book_places(world.order("adult"), by="participant", now=world.now)
    pay(world, right, 1800)
    assert (stands(booking), stands(right)) == ((0, 0, 3600), (300, 0, 1500))
    for said in ("The tax of 1 bookings was booked; the others were right.", "The tax of 0 bookings was booked"):
        out = StringIO()
        call_command("book_tax_points", stdout=out)
        assert said in out.getvalue()
        assert (stands(booking), stands(right)) == ((600, 0, 3000), (300, 0, 1500))
    line = AuditLine.objects.get(act="book tax points")
    assert (line.object_id, line.actor) == (booking.public_id, "command")
    assert "from payment or invoice on" in line.reason


@pytest.mark.database
def test_of_books_of_before_the_next_act_on_a_booking_books_what_is_missing(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    booking = books_of_before(world, monkeypatch)
    take_next_income(now=world.walk.ends_at)
    assert stands(booking) == (600, 3000, 0)
