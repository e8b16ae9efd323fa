"""Two hundred planted words: none leaks, the export finds each, and none is left once its time is over."""

from __future__ import annotations

import json
import logging
from collections.abc import Iterator
from datetime import datetime, timedelta
from io import StringIO
from pathlib import Path

import pytest
from bs4 import BeautifulSoup
from django.conf import settings
from django.core import mail
from django.db import connection
from django.test import Client
from django.urls import NoReverseMatch, reverse
from django.utils.log import configure_logging

from bookings import tombstones
from bookings.errors import NotErased
from bookings.models import BankLine, Booking
from bookings.person_export import export_of, may_be_handed
from bookings.retention import RULES
from bookings.services.ask_for_group import forget_enquiries
from bookings.services.book_places import book_places
from bookings.services.booking_link import booking_link
from bookings.services.erase import erase_party, forget_buyers
from bookings.services.match_bank_line import write_off_bank_line
from foraywright.floor.models import AuditLine
from foraywright.floor.sealed import SealedField
from tests.bookings.canaries import (
    NOT_PLANTED,
    PLANTED,
    Planted,
    found_by_column,
    found_in,
    found_in_the_models,
    key_of,
    plant,
    texts,
)
from tests.bookings.erasing import erase_next_overdue
from tests.cast import World
from tests.house.addresses import patterns
from walks.queries import slug_of

pytestmark = [pytest.mark.database, pytest.mark.usefixtures("september")]
NEVER_WRITTEN_TO = {"Contact.searched", "Contact.folded", "Person.folded"}
TAX_LAW_KEEPS = {"bookings_invoice.buyer"}


@pytest.fixture(autouse=True)
def _own_tombstones(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(tombstones, "path", lambda: tmp_path / "erased.jsonl")


@pytest.fixture
def planted(world: World) -> Planted:
    return plant(world)


def column_of(key: str) -> str:
    field = next(one for one in texts() if key_of(one) == key)
    return f"{field.model._meta.db_table}.{field.column}"


def sealed() -> set[str]:
    return {key_of(one) for one in texts() if isinstance(one, SealedField)}


def after(world: World, **delta: float) -> datetime:
    return world.walk.ends_at + timedelta(**delta)


def left() -> set[str]:
    """All that is found in the database, sealed fields opened."""
    return set().union(*found_by_column().values(), *found_in_the_models().values())


def test_every_field_of_words_is_planted_or_says_why_not() -> None:
    keys = {key_of(one) for one in texts()}
    loose = {one for one in keys - PLANTED if one not in NOT_PLANTED and one.split(".")[0] not in NOT_PLANTED}
    assert loose == set(), "plant it in tests/bookings/canaries.py, or say there why nothing personal is in it"
    assert keys >= PLANTED
    assert {one for rule in RULES for one in rule.fields} >= PLANTED


@pytest.mark.usefixtures("planted")
def test_all_are_there_and_lie_open_in_no_other_column_than_their_own() -> None:
    there = found_in_the_models()
    assert {key for key, words in there.items() if not words} == set()
    assert len(set.union(*there.values())) >= 200
    assert set(found_by_column()) == {column_of(key) for key in PLANTED - sealed()}


@pytest.mark.usefixtures("planted")
def test_no_line_of_the_audit_holds_one() -> None:
    lines = list(AuditLine.objects.values())
    assert len({one["act"] for one in lines}) >= 20
    assert found_in(str(lines)) == set()


@pytest.mark.usefixtures("planted")
def test_none_is_in_the_subject_or_the_unsealed_headers_of_a_letter() -> None:
    assert len(mail.outbox) >= 10
    others = [value for one in mail.outbox for key, value in one.message().items() if key != "To"]
    assert found_in(str(others)) == set()
    assert found_in(str([one.body for one in mail.outbox])), "the letters name who booked"


def addresses_for(booking: Booking) -> Iterator[str]:
    """Every page that is reached with a booking's link, its code, its walk, or nothing; papers are left out."""
    walk = booking.offering
    known = {
        "token": booking_link(booking, now=booking.booked_at),
        "code": booking.code,
        "slug": slug_of(walk.public_id),
        "public_id": walk.public_id,
        "number": 1,
    }
    for one in patterns():
        names = one.pattern.regex.groupindex if one.name and "." not in str(one.pattern) else {"?": 0}
        if set(names) <= set(known):
            try:
                yield reverse(one.name, kwargs={name: known[name] for name in names})
            except NoReverseMatch:
                continue


def links_in(page: str) -> list[str]:
    """Every address on a page that a browser would ask our server for."""
    tags = BeautifulSoup(page, "html.parser").find_all(True)
    found = [str(tag[name]) for tag in tags for name in ("href", "src", "action") if tag.has_attr(name)]
    return [one for one in found if not one.startswith(("mailto:", "tel:"))]


def test_none_is_in_an_address_on_any_page(world: World, planted: Planted) -> None:
    office, shown, addresses = Client(), set(), []
    office.force_login(world.olive)
    for booking in (planted.parties[0][0], planted.group[0]):
        for address in addresses_for(booking):
            answer = office.get(address)
            addresses += [answer.get("Location", ""), *links_in(answer.content.decode(errors="replace"))]
            shown |= found_in(answer.content.decode(errors="replace"))
    assert len(addresses) > 1000
    assert len(shown) > 20, "the pages do show them"
    assert found_in(" ".join(addresses)) == set()


@pytest.fixture
def log() -> Iterator[StringIO]:
    """All that is logged, from debug upward, in the form in which the site writes it."""
    written, root = StringIO(), logging.getLogger()
    configure_logging("logging.config.dictConfig", settings.LOGGING)
    handler, level = logging.StreamHandler(written), root.level
    handler.setFormatter(root.handlers[-1].formatter)
    root.addHandler(handler)
    root.setLevel(logging.DEBUG)
    yield written
    root.setLevel(level)
    root.removeHandler(handler)


def test_none_is_logged_nor_shown_when_a_page_breaks_over_one(
    world: World, log: StringIO, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(order: object, **_: object) -> None:
        raise ValueError(f"{order}\nand a second line")

    monkeypatch.setattr("bookings.views.public.book_places", broken)
    client = Client(raise_request_exception=False)
    client.force_login(world.olive)
    slug = slug_of(world.offering.public_id)
    sent = {"name": "Kanaribbbb", "email": "kanaribbbd@kanari.example", "adults": "1", "rules": "on", "key": "k" * 22}
    answer = client.post(f"/walks/{slug}/book/", sent)
    assert answer.status_code == 500
    assert found_in(answer.content.decode()) == set()
    for address in ("/booking/", "/staff/search/", "/groups/", f"/walks/{slug}/wait/", "/account/login/"):
        client.post(address, sent | {"sought": "Kanaribbbb", "code": "Kanaribbbb", "login": "Kanaribbbb"})
    assert "ValueError" in log.getvalue()
    assert "public.py" in log.getvalue()
    assert found_in(log.getvalue()) == set()


def test_no_link_is_logged_where_a_page_of_it_is_refused_or_breaks(
    world: World, log: StringIO, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ValueError

    booking = book_places(world.order(), by="participant", now=world.now)
    token = booking_link(booking, now=world.now)
    monkeypatch.setattr("bookings.views.declarations.AccessForm", broken)
    client = Client(enforce_csrf_checks=True, raise_request_exception=False)
    address = f"/booking/{token}/declarations/"
    codes = [client.get(address).status_code, client.post(address).status_code, client.get(f"{address}x/").status_code]
    assert codes == [500, 403, 404]
    assert log.getvalue().count("/booking/…/declarations/") >= 3
    assert token.partition("~")[0] not in log.getvalue()


def test_a_letter_that_fails_leaves_none_in_the_log_nor_in_its_row(
    world: World, log: StringIO, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ValueError("Kanaribbbb")

    monkeypatch.setattr("bookings.services.send_messages.letter", broken)
    plant(world)
    assert "could not be written" in log.getvalue()
    assert found_in(log.getvalue()) == set()
    assert "bookings_outboxmessage.last_error" not in found_by_column()


def test_the_export_finds_all_of_a_booking(world: World, planted: Planted) -> None:
    for booking, words in planted.bookings:
        told = json.dumps(export_of(booking, may_be_handed(booking), booked=True, by=world.olive, now=world.now))
        assert words.given - found_in(told) == set()
        assert found_in(told) <= words.given, "and nothing of anybody else"


def test_who_asks_is_erased_but_for_what_tax_law_keeps(world: World, planted: Planted) -> None:
    kept, *others = planted.bookings
    with pytest.raises(NotErased):
        erase_party(kept[0], reason="asked", by=world.olive, now=after(world, days=20))
    for booking, words in others:
        erase_party(booking, reason="asked", by=world.olive, now=after(world, days=20))
        open_still = {column for column, found in found_by_column().items() if found & words.given}
        assert open_still <= TAX_LAW_KEEPS
        sealed_still = [key for key, found in found_in_the_models().items() if found & words.given]
        assert set(sealed_still) <= {"Invoice.buyer"}
    assert left() >= kept[1].given


@pytest.mark.usefixtures("planted")
def test_when_all_time_is_over_none_is_left_not_even_in_the_pages_of_the_file(world: World) -> None:
    assert len(left()) >= 200
    for line in BankLine.objects.filter(state=BankLine.State.WAITING):
        write_off_bank_line(line, reason="nobody asked for it", by=world.olive, now=world.now)
    later = after(world, days=40 * 366)
    while erase_next_overdue(now=later):
        pass
    forget_enquiries(now=later)
    forget_buyers(now=later)
    assert found_by_column() == {}
    assert left() == set()
    if connection.vendor == "sqlite":
        raw = connection.connection.serialize().decode("latin-1")
        assert "bookings_contact" in raw
        assert found_in(raw) == set()
