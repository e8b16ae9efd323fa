"""Input that no form of ours sends: it is refused in words, never by a fault."""

from __future__ import annotations

import json
from urllib.parse import urlencode
from uuid import uuid4

import pytest
import time_machine
from django.test import Client

from bookings.models import RegisterCopy
from bookings.services.take_register import take_register
from bookings.walk_up_forms import WalkUpForm
from foraywright.floor.compute.typed_numbers import whole_number
from tests.bookings.test_offline_devices import sealed
from tests.cast import World
from tests.pages import signed_in
from walks.queries import ratio_policy

DIGITS = "9" * 5000
"""More than Python turns into a number (4,300 digits)."""


@pytest.fixture
def where(world: World) -> str:
    copy = take_register(world.walk, by=world.gwen.user, now=world.walk.starts_at).copy
    return f"/staff/walks/{world.offering.public_id}/1/day/register/copy/{copy.public_id}/"


def sent(world: World, where: str, body: str) -> tuple[int, dict[str, object]]:
    with time_machine.travel(world.walk.starts_at, tick=False):
        answer = signed_in(world.gwen.user).post(where, body, content_type="application/json")
    return answer.status_code, answer.json()


def tick(**other: object) -> dict[str, object]:
    at = "2026-10-03T10:00:00+00:00"
    return {"uuid": str(uuid4()), "kind": "mark", "person": "nobody", "state": "present", "at": at} | other


@pytest.mark.parametrize(
    "body",
    [
        "",
        "[" * 100_000,
        '{"ticks": 5}',
        '{"ticks": [5]}',
        json.dumps({"ticks": [tick(at="0001-01-01T00:00:00+14:00")]}),
        json.dumps({"ticks": [tick(at="9999-12-31T23:59:59-14:00")]}),
        json.dumps({"ticks": [tick(at=5)]}),
        json.dumps({"ticks": [tick(uuid=5)]}),
        json.dumps({"ticks": [{"kind": "find"}]}),
    ],
)
def test_posts_that_cannot_be_read_are_refused_and_stay(world: World, where: str, body: str) -> None:
    status, told = sent(world, where, body)
    assert (status, list(told)) == (422, ["refused"])


@pytest.mark.parametrize("person", ["\x00", "\ud800", "\u2028", 5, None, {}, "x" * 10_000, "\ud800/0"])
def test_a_mark_of_somebody_who_cannot_be_is_of_nobody(world: World, where: str, person: object) -> None:
    booked = tick(person=person)
    status, told = sent(world, where, json.dumps({"ticks": [booked]}))
    assert status == 200
    assert told["taken"] == []


@pytest.mark.parametrize("fields", [5, [1], [], None, "words", {"names": 5}, {"rules_read": 5}, {"words": ["a"]}])
@pytest.mark.parametrize("kind", ["walk_up", "find"])
def test_what_was_sealed_but_is_no_form_is_refused_by_itself(
    world: World, where: str, kind: str, fields: object
) -> None:
    event = str(uuid4())
    post = {"uuid": event, "kind": kind, "at": "2026-10-03T10:00:00+00:00"}
    post["sealed"] = sealed(RegisterCopy.objects.get(), event, fields)
    status, told = sent(world, where, json.dumps({"ticks": [post]}))
    assert (status, told["taken"], list(told["refused"])) == (200, [], [event])  # type: ignore[call-overload]


def test_a_search_for_a_page_beyond_numbers_shows_the_first(world: World) -> None:
    client = signed_in(world.olive)
    assert client.post("/staff/search/", {"sought": "wren", "page": DIGITS}).status_code == 200


def test_a_course_with_numbers_beyond_numbers_is_shown_again(world: World) -> None:
    client = signed_in(world.olive)
    for odd in ({"sessions": DIGITS}, {"sessions": "2", "drop": DIGITS}):
        assert client.post("/staff/courses/new/", odd).status_code < 500


def test_rules_read_in_a_version_beyond_numbers_were_not_read(world: World) -> None:
    bands = ratio_policy(world.offering.ratios).bands
    form = WalkUpForm({"rules_read": DIGITS}, offering=world.offering, bands=bands)
    assert form._rules_read() is None


def test_a_whole_number_is_decimal_digits_that_a_column_holds() -> None:
    assert [whole_number(one) for one in ("0", "007", "999999999")] == [0, 7, 999_999_999]
    assert [whole_number(one) for one in ("", "-1", "1.5", "²", "1000000000", DIGITS)] == [None] * 6


NUL = "a\x00b"


@pytest.mark.parametrize("path", ["/species/?q=a%00b", "/species/?a%00b=c", "/card/a%00b/done/", "/?page=%00"])
def test_the_character_that_no_database_text_holds_is_refused_in_addresses(world: World, path: str) -> None:
    assert Client().get(path).status_code == 400


@pytest.mark.parametrize("field", [{"sought": NUL}, {NUL: "wren"}])
def test_the_same_in_what_is_sent(world: World, field: dict[str, str]) -> None:
    client = signed_in(world.olive)
    assert client.post("/staff/search/", field).status_code == 400
    plain = "application/x-www-form-urlencoded"
    assert client.post("/staff/search/", urlencode(field), content_type=plain).status_code == 400


def test_a_line_separator_is_searched_for(world: World) -> None:
    assert signed_in(world.olive).post("/staff/search/", {"sought": "a\u2028\u202eb c"}).status_code == 200
