"""The programme and the courses, as anybody reads them."""

from __future__ import annotations

from datetime import date, time, timedelta

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from bookings.services.book_places import book_places
from bookings.services.call_off_walk import call_off_walk
from tests.cast import World
from tests.conftest import NOW
from walks.models import Offering
from walks.queries import offering_slugs, programme
from walks.services.publish_walk import publish_walk
from walks.services.schedule_walk import schedule_walk

pytestmark = pytest.mark.usefixtures("september")


def another(world: World, day: date, *, title: str = "Another wood", at: time = time(10)) -> Offering:
    plan = world.plan(world.session(local_date=day, local_time=at), title=title)
    return schedule_walk(plan, by=world.olive, now=world.now)


def published(world: World, number: int) -> None:
    for place in range(number):
        day = date(2026, 9, 19) + timedelta(days=place // 2)
        publish_walk(another(world, day, at=time(10 + 4 * (place % 2))), by=world.olive, now=world.now)


def test_a_walk_is_listed_with_what_one_chooses_by(client: Client, world: World) -> None:
    page = client.get("/").content.decode()
    for words in (
        "October 2026",
        "The bare wood",
        "Cast Wood",
        "10 am to 1 pm",
        "Gwen Guide and Harry Guide",
        "£18.00",
    ):
        assert words in page
    assert ">open<" in page


def test_few_places_are_counted_and_none_are_full(client: Client, world: World) -> None:
    book_places(world.order(*["adult"] * 9), by="participant", now=world.now)
    assert ">3 left<" in client.get("/").content.decode()
    book_places(world.order(*["adult"] * 3), by="participant", now=world.now)
    assert ">full<" in client.get("/").content.decode()


def test_a_called_off_walk_is_shown_as_one_with_its_reason(client: Client, world: World) -> None:
    call_off_walk(world.offering, why="storm in the old beeches", by=world.olive, now=world.now)
    page = client.get("/").content.decode()
    assert ">called off<" in page
    assert "Storm in the old beeches." in page
    assert "£18.00" not in page


def test_a_draft_is_not_public(client: Client, world: World) -> None:
    draft = another(world, date(2026, 9, 26), title="Not ready")
    assert "Not ready" not in client.get("/").content.decode()
    slug = offering_slugs()[draft.public_id]
    for address in (f"/walks/{slug}/", f"/walks/{slug}/book/"):
        assert client.get(address).status_code == 404


def test_what_is_over_is_gone(client: Client, world: World) -> None:
    with time_machine.travel(NOW + timedelta(days=30), tick=False):
        page = client.get("/").content.decode()
    assert "The bare wood" not in page
    assert "No walk is on the programme just now." in page


@pytest.mark.django_db
def test_an_empty_start_says_so(client: Client) -> None:
    for address in ("/", "/courses/", "/species/", "/cautions/", "/privacy/"):
        assert client.get(address).status_code == 200
    assert "No walk is on the programme just now." in client.get("/").content.decode()


def queries_of(client: Client, address: str) -> int:
    with CaptureQueriesContext(
        connection,
    ) as queries:
        assert client.get(address).status_code == 200
    return len(queries)


@pytest.mark.parametrize("address", ["/", "/courses/"])
def test_thirty_walks_cost_no_more_queries_than_three(client: Client, world: World, address: str) -> None:
    published(world, 2)
    few = queries_of(client, address)
    published_more = [
        another(world, date(2026, 11, 1) + timedelta(days=n // 2), at=time(8 + 4 * (n % 2))) for n in range(27)
    ]
    for one in published_more:
        publish_walk(one, by=world.olive, now=world.now)
    assert client.get("/").content.decode().count("<h3>") == 30
    assert queries_of(client, address) == few


def test_what_walks_share_is_read_once(world: World) -> None:
    published(world, 2)
    found = programme(now=world.now)
    assert len(found) == 3
    for shared in ("prices", "ratios", "refunds", "theme"):
        assert len({id(getattr(one, shared)) for one in found}) == 1, shared
    assert len({id(one.walks.all()[0].site) for one in found}) == 1


def test_a_course_shows_all_its_days(client: Client, world: World) -> None:
    days = [world.session(local_date=date(2026, 9, day)) for day in (20, 27)]
    draft = schedule_walk(world.plan(*days, title="Two mornings"), by=world.olive, now=world.now)
    publish_walk(draft, by=world.olive, now=world.now)
    page = client.get("/courses/").content.decode()
    assert "Two mornings" in page
    assert "Sunday 20 September 2026" in page
    assert "Sunday 27 September 2026" in page
    assert "The bare wood" not in page
    assert "course of 2 days" in client.get("/").content.decode()


@pytest.mark.parametrize("address", ["/", "/courses/", "/species/", "/cautions/", "/privacy/", "/robots.txt"])
def test_a_page_only_answers_to_reading(client: Client, world: World, address: str) -> None:
    assert client.head(address).status_code == 200
    assert client.post(address).status_code == 405


def test_pages_carry_the_headers_that_keep_others_out(client: Client, world: World) -> None:
    answer = client.get("/")
    assert "default-src 'self'" in answer["Content-Security-Policy"]
    assert answer["X-Frame-Options"] == "DENY"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert not answer.cookies
