"""Long lists page and sort on the server, at a cost that does not grow with their length."""

from __future__ import annotations

from datetime import timedelta
from itertools import pairwise
from uuid import uuid4

import pytest
from bs4 import BeautifulSoup
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from bookings.models import Booking, Contact, Incident, Invoice, OutboxMessage, Party, Person
from bookings.services.book_places import book_places
from bookings.services.cancel_booking import cancel_booking
from bookings.services.issue_voucher import issue_voucher
from bookings.services.note_card_payout import note_card_payout
from bookings.services.record_payment import record_payment
from bookings.services.take_in_statement import take_in_and_match
from foraywright.floor.ids import new_secret
from foraywright.floor.models import AuditLine
from tests.bookings.statements import Entry, statement
from tests.cast import WALK_DAY, YEAR, World, make_guide, make_wood
from walks.models import GuideCertificate, InsuranceCover
from walks.services.publish_walk import publish_walk
from walks.services.schedule_walk import schedule_walk

pytestmark = [pytest.mark.database, pytest.mark.usefixtures("september")]


def fill(world: World, number: int, *, begin: int = 0) -> None:
    """Bookings that lapsed, a letter each: rows as the acts leave them, written at once."""
    for n in range(begin, begin + number):
        contact = Contact.objects.create(name=f"Person {n:03}", email=f"p{n}@example.org", created_at=world.now)
        party = Party.objects.create(contact=contact, created_at=world.now)
        Person.objects.create(party=party, name=contact.name, band="adult")
        booking = Booking.objects.create(
            code=f"T{n:06}",
            party=party,
            offering=world.offering,
            state=Booking.State.LAPSED,
            idempotency_key=new_secret(),
            booked_at=world.now - timedelta(hours=n),
        )
        OutboxMessage.objects.create(
            kind="confirmation",
            booking=booking,
            contact=contact,
            version=1,
            message_id=f"<{n}@example.org>",
            written_at=world.now,
            due_at=world.now,
        )


def fill_walks(world: World, number: int, *, begin: int) -> None:
    for n in range(begin, begin + number):
        session = world.session(local_date=WALK_DAY + timedelta(days=2 * n + 1))
        schedule_walk(world.plan(session, title=f"Walk {n}"), by=world.olive, now=world.now)


def fill_incidents(world: World, number: int, *, begin: int) -> None:
    for n in range(begin, begin + number):
        at = world.now - timedelta(hours=n)
        values = {"walk": world.walk, "kind": Incident.Kind.NEAR_MISS, "at": at, "reported_at": world.now}
        Incident.objects.create(event=uuid4(), place=f"Gate {n}", reported_by=world.olive, **values)


def fill_vouchers(world: World, number: int, *, begin: int) -> None:
    for n in range(begin, begin + number):
        issue_voucher(value_minor=1000 + n, into="cash", key=new_secret(), by=world.olive, now=world.now)


def fill_acts(world: World, number: int, *, begin: int) -> None:
    fill(world, number, begin=begin)
    for one in Booking.objects.order_by("-pk")[:number]:
        line = {"actor": world.olive.public_id, "act": "book", "object_kind": "Booking", "object_id": one.public_id}
        AuditLine.objects.create(at=world.now, **line)


def fill_sites(world: World, number: int, *, begin: int) -> None:
    for n in range(begin, begin + number):
        make_wood(name=f"Wood {n:03}", most_people=number - n + 2 * begin + 1)


def fill_guides(world: World, number: int, *, begin: int) -> None:
    for n in range(begin, begin + number):
        guide = make_guide(f"Guide {n:03}", None, "first_aid", "insurance")
        first = guide.certificates.first()
        GuideCertificate.objects.filter(pk=first.pk).update(valid_to=YEAR[1] + timedelta(days=n - begin))
        guide.absences.create(first_day=WALK_DAY, last_day=WALK_DAY)


def fill_covers(world: World, number: int, *, begin: int) -> None:
    for n in range(begin, begin + number):
        days = {"valid_from": YEAR[0], "valid_to": YEAR[1] + timedelta(days=n)}
        InsuranceCover.objects.create(policy_number=f"P-{n:03}", insurer="Insurer", most_people=n + 1, **days)


def fill_bank_lines(world: World, number: int, *, begin: int) -> None:
    entries = [Entry(f"{n + 1}.00", text=f"Line {n:03}", reference=f"E{n}") for n in range(begin, begin + number)]
    take_in_and_match(statement(*entries, name=f"S{begin}"), by=world.olive, now=world.now)


def fill_papers(world: World, number: int, *, begin: int) -> None:
    fill(world, number, begin=begin)
    kinds = Invoice.Kind.values
    for n, booking in enumerate(Booking.objects.order_by("-pk")[:number], begin):
        paper = {"kind": kinds[n % 3], "number": n + 1, "booking": booking, "total_minor": 1000 + n, "lines": []}
        printed = {"about": "A walk", "supplied": [], "seller": {}, "buyer": f"Buyer {n:03}\n1 Hedge Row"}
        days = {"issued_at": world.now, "issued_on": WALK_DAY - timedelta(days=n)}
        Invoice.objects.create(currency="GBP", reference="RF", **paper, **printed, **days)


def fill_payouts(world: World, number: int, *, begin: int) -> None:
    for n in range(begin, begin + number):
        told = {"passed_on_minor": 1000 + n, "fee_minor": 1, "shared": False, "reason": f"Week {n:03}"}
        note_card_payout(**told, key=new_secret(), by=world.olive, now=world.now)


LISTS = {
    "staff_walks": fill_walks,
    "staff_bookings": fill,
    "staff_outbox": fill,
    "staff_incidents": fill_incidents,
    "staff_vouchers": fill_vouchers,
    "staff_acts": fill_acts,
    "staff_sites": fill_sites,
    "staff_guides": fill_guides,
    "staff_covers": fill_covers,
    "staff_money": fill_bank_lines,
    "staff_papers": fill_papers,
    "staff_cards": fill_payouts,
}


def column(page: str, label: str) -> list[str]:
    cells = BeautifulSoup(page, "html.parser").select(f'[data-label="{label}"]')
    return [one.get_text(strip=True) for one in cells]


def test_each_page_shows_the_next_forty_and_no_row_twice(olive: Client, world: World) -> None:
    fill(world, 90)
    address = reverse("staff_bookings")
    pages = [column(olive.get(f"{address}?page={number}").text, "Booking") for number in (1, 2, 3)]
    assert [len(one) for one in pages] == [40, 40, 10]
    assert len({code for one in pages for code in one}) == 90
    assert column(olive.get(f"{address}?page=99").text, "Booking") == pages[2]
    assert column(olive.get(f"{address}?page=nonsense").text, "Booking") == pages[0]


@pytest.mark.parametrize("chosen", ["contact", "-contact"])
def test_a_column_sorts_both_ways_and_says_so(olive: Client, world: World, chosen: str) -> None:
    fill(world, 50)
    page = olive.get(f"{reverse('staff_bookings')}?sort={chosen}&state=lapsed").text
    names = column(page, "Contact")
    assert all(a >= b if chosen.startswith("-") else a <= b for a, b in pairwise(names))
    head = BeautifulSoup(page, "html.parser").select_one("th[aria-sort]")
    assert head["aria-sort"] == ("descending" if chosen.startswith("-") else "ascending")
    turned = head.find("a")["href"]
    assert turned == f"?sort={'contact' if chosen.startswith('-') else '-contact'}&state=lapsed"
    second = column(olive.get(f"{reverse('staff_bookings')}?sort={chosen}&page=2").text, "Contact")
    assert set(names).isdisjoint(second)


@pytest.mark.parametrize("wrong", ["password", "-", "party__contact__email", "booking", "owed; DROP TABLE"])
def test_a_column_that_there_is_not_sorts_as_at_first(olive: Client, world: World, wrong: str) -> None:
    fill(world, 3)
    address = reverse("staff_bookings")
    assert column(olive.get(address, {"sort": wrong}).text, "Booking") == column(olive.get(address).text, "Booking")


def test_the_list_is_narrowed_by_state_money_and_day(olive: Client, world: World) -> None:
    fill(world, 2)
    owes, paid = (book_places(world.order(), by="participant", now=world.now) for _ in range(2))
    record_payment(paid, into="bank", amount_minor=3600, by=world.olive, now=world.now)
    address = reverse("staff_bookings")

    def shown(**narrowed: str) -> set[str]:
        return {one.replace(" ", "") for one in column(olive.get(address, narrowed).text, "Booking")}

    assert shown(state="confirmed") == {owes.code, paid.code}
    assert shown(money="owes") == {owes.code}
    assert shown(money="even", state="confirmed") == {paid.code}
    assert shown(money="due") == set()
    cancel_booking(paid, by="participant", now=world.now)
    assert (shown(money="due"), shown(money="even", state="cancelled")) == ({paid.code}, set())
    assert "we owe £36.00" in column(olive.get(address, {"money": "due"}).text, "Owed")[0]
    day = world.walk.local_date
    assert shown(first=day.isoformat(), last=day.isoformat(), state="confirmed") == {owes.code}
    assert shown(first=(day + timedelta(days=1)).isoformat()) == set()
    assert "Enter a valid date" in olive.get(address, {"first": "soon"}).text


@pytest.mark.parametrize("name", LISTS)
def test_a_list_costs_as_many_queries_for_thirty_rows_as_for_three(olive: Client, world: World, name: str) -> None:
    def queries_and_rows() -> tuple[int, int]:
        with CaptureQueriesContext(connection) as seen:
            page = olive.get(reverse(name))
        return len(seen), len(BeautifulSoup(page.text, "html.parser").select("tbody tr"))

    LISTS[name](world, 3, begin=0)
    queries, rows = queries_and_rows()
    LISTS[name](world, 30, begin=3)
    assert queries_and_rows() == (queries, rows + 30)


@pytest.mark.parametrize(
    ("name", "chosen", "label"),
    [
        ("staff_sites", "site", "Site"),
        ("staff_sites", "most people", "Most people"),
        ("staff_guides", "guide", "Guide"),
        ("staff_covers", "policy", "Policy"),
        ("staff_money", "what was written", "What was written"),
        ("staff_papers", "buyer", "Buyer"),
        ("staff_cards", "passed on", "Passed on"),
    ],
)
def test_each_list_is_cut_into_pages_and_sorted(
    olive: Client, world: World, name: str, chosen: str, label: str
) -> None:
    LISTS[name](world, 45, begin=0)
    first, second, turned = (
        column(olive.get(f"{reverse(name)}?sort={sort}&page={page}").text, label)
        for sort, page in ((chosen, 1), (chosen, 2), (f"-{chosen}", 1))
    )
    both = [int(one) if one.isdigit() else one for one in first + second]
    assert len(first) == 40
    assert 45 <= len(both) <= 47
    assert both == sorted(both)
    assert turned == [str(one) for one in reversed(both)][:40]


def test_sites_and_guides_sort_by_what_ends_first(olive: Client, world: World) -> None:
    make_wood(name="Bare Wood").permissions.all().delete()
    make_wood(name="Ended Wood").permissions.update(valid_to=YEAR[0])
    make_guide("Nobody", None)
    soon = make_guide("Soon", None, "first_aid", "insurance")
    soon.certificates.filter(kind="insurance").update(valid_to=WALK_DAY)
    renewed = make_guide("Renewed", None, "first_aid", "first_aid")
    renewed.certificates.filter(pk=renewed.certificates.first().pk).update(valid_to=YEAR[0])
    sites = column(olive.get(f"{reverse('staff_sites')}?sort=permission").text, "Site")
    assert sites == ["Bare Wood", "Ended Wood", "Cast Wood"]
    address = f"{reverse('staff_guides')}?sort=first certificate to end"
    assert column(olive.get(address).text, "Guide") == ["Soon", "Gwen Guide", "Harry Guide", "Renewed", "Nobody"]


def test_bank_lines_that_went_back_sort_below_those_that_came(olive: Client, world: World) -> None:
    entries = (Entry("5.00", text="came"), Entry("9.00", text="back", reference="E2", way="DBIT", is_reversal=True))
    take_in_and_match(statement(*entries), by=world.olive, now=world.now)
    page = olive.get(f"{reverse('staff_money')}?sort=amount").text
    assert column(page, "Amount") == ["−£9.00", "£5.00"]


def test_papers_are_narrowed_and_a_credit_note_counts_against(olive: Client, world: World) -> None:
    fill_papers(world, 6, begin=0)
    address = reverse("staff_papers")
    assert column(olive.get(address, {"sort": "total"}).text, "Total")[:2] == ["−£10.04", "−£10.01"]
    assert set(column(olive.get(address, {"kind": "credit_note"}).text, "Kind")) == {"credit note"}
    day = (WALK_DAY - timedelta(days=1)).isoformat()
    (only,) = BeautifulSoup(olive.get(address, {"first": day, "last": day}).text, "html.parser").select("tbody tr")
    assert [one.get_text(strip=True) for one in only.select("td")[:3]] == ["credit note", "2 Oct 2026", "Buyer 001"]
    paper = Invoice.objects.get(number=2)
    assert only.th.a["href"] == reverse("staff_invoice", args=[paper.booking.code, paper.public_id])
    assert olive.get(address, {"first": "soon"}).status_code == 422


def test_the_bookings_of_one_walk_are_led_to_from_its_page(olive: Client, world: World) -> None:
    fill(world, 2)
    draft = schedule_walk(world.plan(world.session(local_date=YEAR[1])), by=world.olive, now=world.now)
    other = publish_walk(draft, by=world.olive, now=world.now)
    booked = book_places(world.order(offering=other), by="participant", now=world.now)
    page = BeautifulSoup(olive.get(reverse("staff_walk", args=[other.public_id])).text, "html.parser")
    address = page.find("a", string="Every booking of it")["href"]
    narrowed = olive.get(address).text
    assert [one.replace(" ", "") for one in column(narrowed, "Booking")] == [booked.code]
    assert "Every booking of" in narrowed
    assert BeautifulSoup(narrowed, "html.parser").find("input", {"name": "walk"})["value"] == other.public_id
    assert column(olive.get(reverse("staff_bookings"), {"walk": "nothing"}).text, "Booking") == []


def test_people_and_money_are_those_of_the_booking(olive: Client, world: World) -> None:
    pair, one, three = (
        book_places(world.order(*bands), by="participant", now=world.now)
        for bands in (("adult", "adult"), ("adult",), ("adult", "adult", "4-8"))
    )
    record_payment(three, into="bank", amount_minor=4000, by=world.olive, now=world.now)
    address = reverse("staff_bookings")
    by_people = olive.get(f"{address}?sort=people").text
    assert [code.replace(" ", "") for code in column(by_people, "Booking")] == [one.code, pair.code, three.code]
    assert column(by_people, "People") == ["1", "2", "3"]
    assert column(olive.get(f"{address}?sort=owed").text, "Owed") == ["£5.00", "£18.00", "£36.00"]


def test_of_rows_that_are_not_on_the_page_only_the_key_is_read(olive: Client, world: World) -> None:
    """What a row carries is computed for the page alone: of thousands of bookings it took more than a second."""
    fill(world, 45)
    with CaptureQueriesContext(connection) as seen:
        olive.get(f"{reverse('staff_bookings')}?sort=-owed")
    (cut,) = (one["sql"] for one in seen.captured_queries if "LIMIT 40" in one["sql"])
    assert cut.partition(" FROM ")[0] == 'SELECT "bookings_booking"."id" AS "pk"'
