"""A withdrawn sheet: out of use at once, and everybody who may hold a copy is told and followed up."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

import pytest
from django.core import mail
from django.test import Client

from bookings import tombstones
from bookings.errors import NotSettled
from bookings.models import Booking, Delivery, OutboxMessage, Recall
from bookings.person_export import export_of
from bookings.services.book_places import book_places
from bookings.services.booking_link import booking_link
from bookings.services.cancel_booking import cancel_booking
from bookings.services.erase import ERASED, erase_party
from bookings.services.send_messages import send_next_message
from bookings.services.settle_recall import settle_recall
from bookings.services.start_recalls import start_next_recall
from curriculum.models import AccountVersion, Document
from curriculum.queries import accounts_in_use
from curriculum.services.build_document import build_next_document
from curriculum.services.load_starter import STARTER, load_starter
from curriculum.services.withdraw_account import withdraw_account
from foraywright.floor.models import AuditLine
from tests.cast import World
from walks.documents import want_booklet
from walks.models import ThemeTaxon

pytestmark = pytest.mark.database

TAXON = "auricularia-auricula-judae"
WHY = "The stem was described wrongly."


@pytest.fixture
def held(world: World, now: datetime, tmp_path: Path, settings: object) -> Booking:
    """A booking whose walk's booklet holds the sheet."""
    settings.MEDIA_ROOT = tmp_path  # type: ignore[attr-defined]
    load_starter(STARTER, by="command", now=now)
    version = accounts_in_use()[TAXON].version
    ThemeTaxon.objects.create(theme=world.theme, taxon=version.taxon)
    booking = book_places(world.order(), by="participant", now=now)
    want_booklet(world.offering.walks.get(), now=now)
    assert build_next_document(now=now) is not None
    while send_next_message(now=now):
        pass
    mail.outbox.clear()
    return booking


def withdraw(world: World, now: datetime) -> AccountVersion:
    version = accounts_in_use()[TAXON].version
    withdraw_account(version, reason=WHY, by=world.rosa, now=now)
    return version


def test_it_is_out_of_use_at_once(held: Booking, world: World, now: datetime) -> None:
    withdraw(world, now)
    assert TAXON not in accounts_in_use()


def test_a_booklet_in_the_making_is_not_finished(held: Booking, world: World, now: datetime) -> None:
    walk = world.offering.walks.get()
    walk.site.meeting_point = "the west gate"
    walk.site.save()
    document = want_booklet(walk, now=now)
    withdraw(world, now)
    build_next_document(now=now)
    document.refresh_from_db()
    assert not document.is_ready
    assert document.last_error == "An account in it has been withdrawn."


def test_everybody_who_booked_is_written_to_once(held: Booking, world: World, now: datetime) -> None:
    withdraw(world, now)
    assert start_next_recall(now=now) is not None
    assert start_next_recall(now=now) is None
    while send_next_message(now=now):
        pass
    [letter] = mail.outbox
    assert letter.to == ["pat@example.org"]
    assert letter.subject == "A species sheet is withdrawn: please destroy your copy"
    assert f"Why: {WHY}" in letter.body
    recall = Recall.objects.get()
    assert (recall.booking, recall.state) == (held, Recall.State.SENT)


def test_a_worker_that_died_in_between_tells_nobody_twice(held: Booking, world: World, now: datetime) -> None:
    version = withdraw(world, now)
    start_next_recall(now=now)
    withdrawal = version.withdrawal
    type(withdrawal).objects.filter(pk=withdrawal.pk).update(done_at=None)
    start_next_recall(now=now + timedelta(minutes=5))
    assert Recall.objects.count() == OutboxMessage.objects.filter(kind="recall").count() == 1


def test_guides_and_prints_are_holders_too(held: Booking, world: World, now: datetime) -> None:
    document = Document.objects.get()
    Delivery.objects.create(document=document, guide=world.gwen, channel=Delivery.Channel.GUIDE, at=now)
    Delivery.objects.create(document=document, printed_by=world.olive.public_id, channel=Delivery.Channel.PRINT, at=now)
    withdraw(world, now)
    start_next_recall(now=now)
    assert Recall.objects.filter(guide=world.gwen).exists()
    assert Recall.objects.filter(printed_by=world.olive.public_id).exists()


def test_the_holder_says_by_link_that_the_copy_is_destroyed(
    held: Booking, world: World, now: datetime, client: Client
) -> None:
    withdraw(world, now)
    start_next_recall(now=now)
    token = booking_link(held, now=now + timedelta(days=30))
    page = client.get(f"/booking/{token}/")
    assert "Our sheet on Jelly Ear is withdrawn: The stem was described wrongly." in page.content.decode()
    recall = Recall.objects.get()
    client.post(f"/booking/{token}/recall/{recall.public_id}/")
    recall.refresh_from_db()
    assert recall.state == Recall.State.ACKNOWLEDGED


def test_nobody_elses_recall_opens_by_that_link(held: Booking, world: World, now: datetime, client: Client) -> None:
    stranger = book_places(world.order("adult"), by="participant", now=now)
    withdraw(world, now)
    start_next_recall(now=now)
    theirs = Recall.objects.get(booking=held)
    token = booking_link(stranger, now=now)
    assert client.post(f"/booking/{token}/recall/{theirs.public_id}/").status_code == 404


def test_giving_up_needs_a_person_and_a_reason(held: Booking, world: World, now: datetime) -> None:
    withdraw(world, now)
    start_next_recall(now=now)
    recall = Recall.objects.get()
    with pytest.raises(NotSettled) as refused:
        settle_recall(recall, Recall.State.GIVEN_UP, by=world.rosa, now=now)
    assert refused.value.sentence == "The copy was not given up. Say why: the reason stays in the record."
    settle_recall(recall, Recall.State.GIVEN_UP, by=world.rosa, reason="Moved, no address.", now=now)
    recall.refresh_from_db()
    assert (recall.state, recall.settled_by) == (Recall.State.GIVEN_UP, world.rosa.public_id)


def test_why_a_copy_was_given_up_is_handed_out_and_goes_with_the_names_of_who_held_it(
    held: Booking, world: World, now: datetime, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(tombstones, "path", lambda: tmp_path / "erased.jsonl")
    withdraw(world, now)
    start_next_recall(now=now)
    settle_recall(Recall.objects.get(), Recall.State.GIVEN_UP, by=world.rosa, reason="Ms Kanarek moved.", now=now)
    assert "Ms Kanarek moved." in str(export_of(held, (), booked=True, by=world.olive, now=now))
    cancel_booking(held, by="participant", now=now)
    erase_party(held, reason="asked", by=world.olive, now=now)
    assert Recall.objects.get().reason == ERASED
    assert not AuditLine.objects.filter(reason__contains="Kanarek").exists()


def test_the_code_on_the_sheet_says_withdrawn_and_why(
    held: Booking, world: World, now: datetime, client: Client
) -> None:
    version = accounts_in_use()[TAXON].version
    assert "<strong>Current.</strong>" in client.get(f"/sheet/{version.public_id}/").content.decode()
    withdraw(world, now)
    page = client.get(f"/sheet/{version.public_id}/").content.decode()
    assert "Withdrawn</strong> on 14 September 2026: The stem was described wrongly." in page
