"""Names of a large party from a list."""

from __future__ import annotations

import csv
from io import StringIO

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bookings.compute.name_list import blank_list, read_name_list
from bookings.models import Booking
from bookings.services.book_places import book_places
from bookings.services.booking_link import booking_link
from tests.cast import World
from tests.pages import words_of

AGES = ("Adult", "Child, 9 to 12", "Child, 9 to 12")


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252"])
def test_a_list_is_read_as_spreadsheets_save_it(delimiter: str, encoding: str) -> None:
    lines = ("number,age,name", "1,Adult,Zoë Müller", "3,,Bo", "2,,")
    text = "\r\n".join(lines).replace(",", delimiter)
    found = read_name_list(text.encode(encoding), ("Adult", "Adult", "Adult"))
    assert found.names == {0: "Zoë Müller", 2: "Bo"}
    assert found.faults == ()


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ("number,name\n4,Ann", "Line 2: “4” is no number from 1 to 3."),
        ("number,name\n0,Ann", "Line 2: “0” is no number from 1 to 3."),
        ("number,name\n²,Ann", "Line 2: “²” is no number from 1 to 3."),
        ("number,name\n1,Ann\n1,Bo", "Line 3: number 1 stands in line 2 already."),
        ("number,age,name\n2,Adult,Ann", "Line 2: number 2 is booked as “Child, 9 to 12”, and the list says “Adult”."),
        (f"number,name\n1,{'n' * 121}", "Line 2: the name is longer than 120 letters."),
        ("number,name\n1,Ash, Mary", "Line 2: more columns than the first line names. Put “ ” round a name"),
        ('number,name\n1,"Ash\nMary"\n9,Bo', "Line 4: “9” is no number from 1 to 3."),
        (f"number,name\n{'9' * 5000},Ann", "Line 2: “99999999999999999999” is no number from 1 to 3."),
        ("Ann\nBo", "The first line must name the columns"),
        ("", "The first line must name the columns"),
        ("PK\x03\x04\x00\x00", "This is no list of text."),
    ],
)
def test_what_is_wrong_is_said_by_line_and_nothing_counts(content: str, said: str) -> None:
    found = read_name_list(content.encode(), AGES)
    assert found.faults[0].startswith(said)
    assert found.names == {}


@pytest.mark.parametrize("byte", [b"\x81", b"\x8d", b"\x8f", b"\x90", b"\x9d"])
def test_a_letter_that_cannot_be_read_is_refused_with_its_line(byte: bytes) -> None:
    """The five bytes to which the Windows-1252 of Python gives no letter."""
    found = read_name_list(b"number,name\r\n1,Zo\xeb\r\n2,Andr" + byte + b"\r\n3,Bo\r\n", AGES)
    assert found.faults == ("Line 3: a letter in it cannot be read. Save the list again as “CSV UTF-8”.",)
    assert found.names == {}
    lost_before = "number,name\n1,Zo\N{REPLACEMENT CHARACTER}".encode()
    assert read_name_list(lost_before, AGES).faults[0].startswith("Line 2: a letter in it")


# On a fresh machine the first run builds the table of characters, which is slow.
@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    st.lists(
        st.text(
            st.characters(
                codec="utf-8",
                exclude_categories=("Cs", "Cc", "Zl", "Zp"),
                exclude_characters="\N{REPLACEMENT CHARACTER}",
            ),
            max_size=40,
        ),
        min_size=1,
    )
)
def test_our_list_filled_in_comes_back(names: list[str]) -> None:
    ages = ["Child, 4 to 8"] * len(names)
    found = read_name_list(blank_list(ages, names).encode(), ages)
    there = {place: " ".join(name.split()) for place, name in enumerate(names) if name.strip()}
    assert {place: " ".join(name.split()) for place, name in found.names.items()} == there


@given(st.binary(max_size=400))
def test_no_file_breaks_the_reader(content: bytes) -> None:
    found = read_name_list(content, AGES)
    assert set(found.names) <= {0, 1, 2}


@pytest.fixture
def group(world: World) -> Booking:
    return book_places(world.order(*["adult"] * 9), by="participant", now=world.now)


@pytest.mark.django_db
@pytest.mark.usefixtures("september")
def test_a_school_fills_in_our_list_looks_and_keeps_it(world: World, group: Booking, client: Client) -> None:
    token = booking_link(group, now=world.now)
    page, address = reverse("booking_page", args=[token]), reverse("booking_names", args=[token])
    assert address in client.get(page).text
    ours = client.get(reverse("booking_names_list", args=[token])).content.decode("utf-8-sig")
    rows = list(csv.reader(StringIO(ours)))
    assert len(rows) == 10
    filled = "\n".join(["number,age,name", *(f"{number},Adult,=Pupil {number}" for number in range(1, 10))])
    looked_at = client.post(address, {"names": SimpleUploadedFile("names.csv", filled.encode())})
    assert 'value="=Pupil 9"' in looked_at.text
    assert not group.party.people.filter(name__contains="Pupil").exists()
    kept = {one.public_id: f"=Pupil {n}" for n, one in enumerate(group.party.people.order_by("pk"), start=1)}
    client.post(page, kept)
    assert set(group.party.people.values_list("name", flat=True)) == set(kept.values())
    again = client.get(reverse("booking_names_list", args=[token])).content.decode("utf-8-sig")
    assert "'=Pupil 1" in again, "no spreadsheet runs a name"


@pytest.mark.django_db
@pytest.mark.usefixtures("september")
@pytest.mark.parametrize(
    ("content", "said"), [(b"number,name\n77,Ann", "“77” is no number from 1 to 9"), (b"x" * 40_000, "more than 30 kB")]
)
def test_a_bad_list_is_refused_in_words(
    world: World, group: Booking, client: Client, content: bytes, said: str
) -> None:
    address = reverse("booking_names", args=[booking_link(group, now=world.now)])
    answer = client.post(address, {"names": SimpleUploadedFile("names.csv", content)})
    assert answer.status_code == 422
    assert said in words_of(answer.content)
    assert "Choose the file." in words_of(client.post(address).content)
