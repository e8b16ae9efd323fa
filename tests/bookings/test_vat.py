"""Value added tax: a policy of its own, frozen on each line, and none where the business is not registered."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from bookings.compute.vat import Category, vat_policy_from
from bookings.invoices import invoice_html
from bookings.models import BookingLine, Voucher
from bookings.services.book_places import book_places
from bookings.services.issue_invoice import issue_invoice
from bookings.services.issue_voucher import issue_voucher
from bookings.services.note_cost import note_cost
from bookings.services.pay_by_voucher import pay_by_voucher
from bookings.services.set_policy import set_policy
from bookings.takings import takings_of
from bookings.vat import vat_version_on
from foraywright.floor.ids import new_secret
from foraywright.floor.models import Business, PolicyVersion
from tests.cast import World
from tests.conftest import NOW
from tests.pages import words_of
from walks.queries import slug_of

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("september")]
TODAY = NOW.date()
STANDARD = {"category": "standard", "basis_points": 2000}
EXEMPT = {"category": "exempt", "basis_points": 0}


def body(day: date = TODAY, *, registered: bool = True, **supplies: Any) -> dict[str, Any]:
    taxed = dict.fromkeys(("walk", "course", "group"), STANDARD) | supplies
    return {"registered": registered, "from_day": day.isoformat(), "supplies": taxed}


def put(told: dict[str, Any]) -> PolicyVersion:
    return set_policy("vat", told, "the cast", by="command", now=NOW)


def book(world: World) -> BookingLine:
    return book_places(world.order("adult"), by="participant", now=NOW).lines.get()


def test_the_rate_is_that_of_the_day_and_the_line_keeps_it(world: World) -> None:
    reduced = put(body(walk={"category": "reduced", "basis_points": 500}))
    put(body(TODAY + timedelta(days=1)))
    line = book(world)
    assert (line.vat_basis_points, line.vat_minor, line.vat_category, line.vat) == (500, 86, "reduced", reduced)
    put(body(walk=EXEMPT))
    line.refresh_from_db()
    assert (line.vat_basis_points, line.vat_minor, line.vat) == (500, 86, reduced)
    assert (book(world).vat_minor, vat_version_on(TODAY + timedelta(days=1)).number) == (0, 3)


def test_before_its_first_day_a_policy_says_nothing(world: World) -> None:
    put(body(TODAY + timedelta(days=1), walk=EXEMPT))
    line = book(world)
    assert (line.vat_basis_points, line.vat_category, line.vat) == (2000, "", None)


def test_who_is_not_registered_charges_none_and_shows_none(world: World) -> None:
    Business.objects.update(vat_number="GB 000 0000 00")
    put(body(registered=False))
    line = book(world)
    assert (line.vat_minor, line.vat_category) == (0, "unregistered")
    paper = issue_invoice(line.booking, buyer="Pat\n1 Lane", by="participant", now=NOW)
    assert "VAT" not in invoice_html(paper)
    page = reverse("walk_page", args=[slug_of(world.offering.public_id)])
    assert "Value added tax" not in words_of(Client().get(page).content)


def test_a_line_sold_with_tax_stays_on_a_tax_invoice_when_the_business_is_registered_no_more(world: World) -> None:
    Business.objects.update(vat_number="GB 000 0000 00")
    line = book(world)
    put(body(registered=False))
    paper = issue_invoice(line.booking, buyer="Pat\n1 Lane", by="participant", now=NOW)
    assert "GB 000 0000 00" in invoice_html(paper)


def sell(world: World) -> Voucher:
    return issue_voucher(value_minor=5000, into="cash", key=new_secret(), by=world.olive, now=NOW)


@pytest.mark.parametrize(
    ("told", "rate"),
    [(body(), 2000), (body(walk=EXEMPT), 0), (body(registered=False), None), (body(group=EXEMPT), 2000)],
)
def test_a_voucher_is_taxed_as_all_that_is_on_sale(world: World, told: dict[str, Any], rate: int | None) -> None:
    put(told)
    assert sell(world).vat_basis_points == rate


def test_a_voucher_still_pays_after_the_rate_has_changed(world: World) -> None:
    put(body())
    voucher = sell(world)
    later = NOW + timedelta(days=2)
    put(body(later.date(), walk={"category": "reduced", "basis_points": 500}))
    booking = book_places(world.order("adult"), by="participant", now=later)
    assert pay_by_voucher(booking, voucher.code, by="participant", now=later) == 1800


def test_what_covers_the_costs_is_counted_without_the_tax_of_the_day(world: World) -> None:
    note_cost(world.offering, kind="other", amount_minor=16000, for_each=False, by=world.olive, now=NOW)
    (before,) = takings_of([world.offering])
    put(body(world.walk.local_date, walk=EXEMPT))
    (after,) = takings_of([world.offering])
    assert (before.enough, after.enough) == (11, 9)


@pytest.mark.parametrize(
    "wrong",
    [
        {"category": "standard", "basis_points": 0},
        {"category": "zero", "basis_points": 500},
        {"category": "odd", "basis_points": 0},
    ],
)
def test_a_rate_that_does_not_go_with_its_category_is_refused(wrong: dict[str, Any]) -> None:
    with pytest.raises(ValueError, match=r"does not go with|is not a valid"):
        vat_policy_from(body(walk=wrong))


def test_every_kind_of_supply_must_be_named() -> None:
    with pytest.raises(ValueError, match="must say how each of walk, course, group"):
        vat_policy_from(body(food=EXEMPT))


def typed(**changes: str) -> dict[str, str]:
    told = {"registered": "on", "from_day": TODAY.isoformat(), "source": "told by our bookkeeper"}
    for key in ("walk", "course", "group"):
        told |= {f"category_{key}": "standard", f"rate_{key}": "20"}
    return told | changes


def test_the_office_sets_the_policy_and_sees_it(olive: Client) -> None:
    Business.objects.update(vat_number="GB 000 0000 00")
    page = reverse("staff_vat")
    assert olive.post(page, typed(category_group="exempt", rate_group="")).status_code == 302
    held = vat_policy_from(PolicyVersion.objects.get(kind="vat").body)
    assert (held.of("walk").basis_points, held.of("group").category) == (2000, Category.EXEMPT)
    words = words_of(olive.get(page).content)
    assert "20 %, standard rate" in words
    assert "1, in force" in words
    assert page in olive.get(reverse("staff_policies")).content.decode()


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"from_day": "2020-01-01"}, "That day is over"),
        ({"rate_walk": "17.5"}, "We know no such rate on that day"),
        ({"rate_walk": ""}, "does not go with"),
        ({"source": ""}, "This field is required"),
    ],
)
def test_what_is_unsound_is_said_and_kept(olive: Client, changes: dict[str, str], said: str) -> None:
    Business.objects.update(vat_number="GB 000 0000 00")
    answer = olive.post(reverse("staff_vat"), typed(**changes))
    assert answer.status_code == 422
    assert said in words_of(answer.content)
    assert not PolicyVersion.objects.filter(kind="vat").exists()


def test_without_a_number_nobody_is_registered(olive: Client) -> None:
    assert "No VAT number is recorded" in words_of(olive.post(reverse("staff_vat"), typed()).content)
