"""The office's page of acts: narrowed by act, actor, object and day."""

from __future__ import annotations

import pytest
from bs4 import BeautifulSoup
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from bookings.models import Booking
from bookings.services.book_places import book_places
from bookings.services.cancel_booking import cancel_booking
from foraywright.floor.models import AuditLine
from tests.cast import World
from tests.conftest import NOW

pytestmark = pytest.mark.usefixtures("september")


@pytest.fixture
def booking(world: World) -> Booking:
    booking = book_places(world.order(), by="participant", now=NOW)
    cancel_booking(booking, by=world.olive, now=NOW)
    return booking


def acts(client: Client, query: str = "") -> list[str]:
    page = BeautifulSoup(client.get(f"/staff/acts/{query}").content, "html.parser")
    return [one.get_text() for one in page.select("tbody th")]


def test_the_newest_act_comes_first_and_each_filter_narrows(booking: Booking, olive: Client, world: World) -> None:
    assert acts(olive)[:2] == ["cancel booking", "book places"]
    assert acts(olive, f"?actor={world.olive.public_id}")[0] == "cancel booking"
    assert acts(olive, "?actor=participant") == ["book places"]
    assert acts(olive, "?act=book+places") == ["book places"]
    assert acts(olive, f"?object={booking.public_id}") == ["cancel booking", "book places"]
    assert "publish walk" in acts(olive)
    assert acts(olive, "?last=2026-09-13") == acts(olive, "?first=2026-09-15") == []
    assert acts(olive, "?first=2026-09-14&last=2026-09-14") == acts(olive)


def test_a_filter_that_means_nothing_is_said_to(booking: Booking, olive: Client) -> None:
    assert olive.get("/staff/acts/?first=soon").status_code == 422


def test_the_page_names_nobody_and_costs_the_same_for_many(booking: Booking, olive: Client) -> None:
    def page() -> tuple[str, int]:
        with CaptureQueriesContext(connection) as ran:
            return olive.get("/staff/acts/").content.decode(), len(ran)

    text, few = page()
    assert "Pat Partridge" not in text
    assert f"/staff/bookings/{booking.code}/" in text
    line = {"at": NOW, "actor": "worker", "act": "lapse hold", "object_kind": "Booking", "object_id": "gone"}
    AuditLine.objects.bulk_create(AuditLine(**line) for _ in range(200))
    assert page()[1] == few
