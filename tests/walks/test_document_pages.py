"""The addresses that serve documents: awaited, ready, given up; to the public, by link and to staff."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
import time_machine
from django.core.files.base import ContentFile
from django.test import Client
from django.urls import reverse

from bookings.services.book_places import book_places
from curriculum.models import Document
from foraywright.floor.links import make_link
from tests.cast import World
from tests.walks.printed import teach
from walks.queries import slug_of


@pytest.fixture
def slug(world: World, now: datetime) -> str:
    teach(world, "pleurotus-ostreatus", now=now)
    return slug_of(world.offering.public_id)


@pytest.fixture(autouse=True)
def _today(now: datetime) -> object:
    with time_machine.travel(now, tick=False):
        yield


def make_ready(now: datetime) -> Document:
    """What the worker does, without the minute that the layout takes."""
    document = Document.objects.get()
    document.file.save("b.pdf", ContentFile(b"%PDF-1.7 made"), save=False)
    document.sha256, document.done_at = "a" * 64, now
    document.save()
    return document


def test_a_handout_is_awaited_then_served_then_unchanged(client: Client, slug: str, now: datetime) -> None:
    address = reverse("walk_handout", args=[slug])
    awaited = client.get(address)
    assert (awaited.status_code, awaited["Refresh"]) == (202, "3")
    assert "is being made" in awaited.content.decode()
    document = make_ready(now)
    served = client.get(address)
    assert served.getvalue() == b"%PDF-1.7 made"
    assert served["Content-Type"] == "application/pdf"
    assert served["Content-Disposition"] == f'inline; filename="handout-{document.manifest_hash[:8]}.pdf"'
    assert served["X-Robots-Tag"] == "noindex"
    again = client.get(address, headers={"if-none-match": served["ETag"]})
    assert (again.status_code, again.content) == (304, b"")
    assert client.head(address).status_code == 200


def test_a_handout_given_up_says_what_to_do(client: Client, slug: str, now: datetime) -> None:
    client.get(reverse("walk_handout", args=[slug]))
    Document.objects.update(given_up_at=now, last_error="The PDF maker died.")
    response = client.get(reverse("walk_handout", args=[slug]))
    assert response.status_code == 503
    assert "Refresh" not in response
    assert "Write to us at" in response.content.decode()
    assert "died" not in response.content.decode()


@pytest.mark.parametrize("state", ["draft", "called_off"])
def test_no_handout_of_a_walk_off_the_programme(
    client: Client, world: World, slug: str, state: str, now: datetime
) -> None:
    world.offering.state, world.offering.called_off_at = state, now
    world.offering.save()
    assert client.get(reverse("walk_handout", args=[slug])).status_code == 404
    assert not Document.objects.exists()


def test_a_handout_is_only_read(client: Client, slug: str) -> None:
    assert client.post(reverse("walk_handout", args=[slug])).status_code == 405


def test_a_booking_link_opens_the_handout_and_a_forged_one_nothing(
    client: Client, world: World, slug: str, now: datetime
) -> None:
    booking = book_places(world.order(), by="public", now=now)
    token = make_link("booking", booking.public_id, expires_at=now + timedelta(days=60), now=now)
    response = client.get(reverse("booking_handout", args=[token]))
    assert (response.status_code, response["Referrer-Policy"]) == (202, "no-referrer")
    assert response["Cache-Control"] == "no-store"
    assert client.get(reverse("booking_handout", args=["forged~x"])).status_code == 404


def test_staff_papers_are_for_staff(client: Client, world: World, slug: str) -> None:
    papers = [
        reverse(name, args=[world.offering.public_id, 1])
        for name in ("staff_handout", "staff_risk_assessment", "staff_register")
    ]
    for paper in papers:
        assert client.get(paper)["Location"].startswith("/accounts/login/")
    client.force_login(world.rosa)
    for paper in papers:
        assert client.get(paper).status_code == 403
    client.force_login(world.gwen.user)
    assert [client.get(paper).status_code for paper in papers[:2]] == [202, 202]
    assert client.get(reverse("staff_risk_assessment", args=[world.offering.public_id, 9])).status_code == 404
