"""The register, read back from the PDF."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from bookings.documents import register_html
from bookings.services.book_places import book_places
from bookings.services.cancel_booking import cancel_booking
from bookings.services.record_payment import record_payment
from curriculum.models import Document
from foraywright.floor.pdf import PdfFailed
from tests.cast import World, make_user
from tests.walks.printed import Read, faults_of_accessibility, printed, the_walk
from walks.models import Guide, InsuranceCover, LandownersPermission, Site

HOSTILE = "\u202eevil \u2067 <script>x</script> <b>" + "forest " * 280 + "m" * 2000


def read_register(world: World, now: datetime) -> Read:
    return printed(register_html(the_walk(world), now))


@pytest.fixture
def booked(world: World, now: datetime) -> World:
    """Pat with a friend, paid; Mo with two children of 4 to 8; somebody who cancelled."""
    pat = book_places(world.order(names=("Pat Partridge", "Quill Quince")), by="public", now=now)
    record_payment(pat, into="bank", amount_minor=3600, by=world.olive, now=now)
    mo = world.order("adult", "4-8", "4-8", name="Mo Merle", phone="01632 960 002", names=("Mo Merle", "Ivy", "Ash"))
    book_places(mo, by="public", now=now)
    gone = book_places(world.order("adult", name="Gone Goose", names=("Gone Goose",)), by="public", now=now)
    cancel_booking(gone, by=world.olive, now=now)
    return world


def test_it_says_who_comes_in_whose_charge_and_what_is_owed(booked: World, now: datetime) -> None:
    text = read_register(booked, now).text
    for words in (
        "Coming: 5 (3 adults, 2 aged 4 to 8), and 2 of ours. Still owed: £36.00.",
        "Quill Quince adult",
        "Ivy 4 to 8 Mo Merle",
        "Mo Merle, 01632 960 002",
        "paid",
        "SU 387 148",
        "5 people £36.00",
    ):
        assert words in text
    assert "Gone Goose" not in text


def test_it_has_room_for_who_comes_without_a_booking_and_says_who_may(booked: World, now: datetime) -> None:
    text = read_register(booked, now).text
    assert "Only within the limits above: 7 by the tightest" in text
    assert "18 and over: 7" in text
    assert "Rules read Health asked Paid" in text


def test_it_says_how_the_limits_stand_and_with_one_guide_lost(booked: World, now: datetime) -> None:
    text = read_register(booked, now).text
    assert "The landowner's permission allows 14 people, staff included; 7 are coming; 7 places remain." in text
    assert "Every limit is still kept." in text
    Guide.objects.filter(pk=booked.harry.pk).update(adult=False)
    book_places(booked.order("13-17", guardian=False, names=("Teen",)), by="public", now=now)
    lost = read_register(booked, now).text.partition("With one guide lost")[2]
    assert "Worst without Gwen Guide" in lost
    assert "NOT KEPT" in lost


def test_thirty_people_fit_and_the_head_of_the_table_repeats(world: World, now: datetime) -> None:
    LandownersPermission.objects.update(most_people=60)
    InsuranceCover.objects.update(most_people=60)
    Site.objects.update(most_people=60)
    Guide.objects.filter(pk=world.harry.pk).update(name="Harry Guide")
    for number in range(12):
        book_places(world.order("adult", "adult", name=f"Booker {number}"), by="public", now=now)
    read = read_register(world, now)
    assert len(read.pages) <= 4
    assert "24 people" in read.text
    rows = [page for page in read.pages if "Person 2 of Booker" in page]
    assert len(rows) == 2
    assert all("Arrived Left Name" in page for page in rows)


def test_hostile_names_leave_emergency_block_and_signatures_whole(world: World, now: datetime) -> None:
    book_places(world.order("adult", name=HOSTILE, names=(HOSTILE,)), by="public", now=now)
    Site.objects.update(meeting_point=HOSTILE)
    read = read_register(world, now)
    block = next(page for page in read.pages if "In an emergency call" in page)
    assert "Mobile coverage: not known" in block
    assert "Incidents, finds to report" in read.pages[-1]
    assert "Leading guide: all back, counted and signed" in read.pages[-1]


def test_it_is_tagged_and_its_fonts_are_embedded(booked: World, now: datetime) -> None:
    assert faults_of_accessibility(read_register(booked, now).content) == []


def test_only_the_office_and_the_guides_of_the_walk_may_print_it(client: Client, booked: World, now: datetime) -> None:
    address = reverse("staff_register", args=[booked.offering.public_id, 1])
    stranger = make_user("stranger", "guide")
    Guide.objects.create(name="Stranger", user=stranger)
    client.force_login(stranger)
    assert client.get(address).status_code == 403
    client.force_login(booked.gwen.user)
    with time_machine.travel(now + timedelta(days=1), tick=False):
        response = client.get(address)
    assert response.content.startswith(b"%PDF")
    assert response["Cache-Control"] == "no-store"
    assert response["Content-Disposition"] == 'inline; filename="register-2026-10-03.pdf"'
    assert not Document.objects.exists()


def test_a_register_that_cannot_be_set_says_what_to_do(
    client: Client, booked: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    def slow(*_: object, **__: object) -> None:
        raise PdfFailed("The PDF took longer than 30 seconds and was given up.")

    monkeypatch.setattr("bookings.documents.render_pdf", slow)
    client.force_login(booked.olive)
    response = client.get(reverse("staff_register", args=[booked.offering.public_id, 1]))
    assert response.status_code == 503
    assert "print the page of the walk, which lists everybody who comes" in response.content.decode()
