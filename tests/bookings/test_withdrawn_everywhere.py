"""Nothing given out after a withdrawal holds the account: page, sheet, booklet, feed, cache, a booking's link."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path
from unittest.mock import patch

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from bookings.services.book_places import book_places
from curriculum.models import AccountVersion, Document, Taxon
from curriculum.queries import accounts_in_use, species_slugs
from curriculum.services.build_document import build_next_document, holds_withdrawn
from curriculum.services.load_starter import load_starter
from curriculum.services.withdraw_account import withdraw_account
from foraywright.floor.links import make_link
from foraywright.floor.pdf import Pdf
from tests.cast import World
from tests.curriculum.garlic import GARLIC, garlic_files
from walks import documents
from walks.models import ThemeTaxon
from walks.queries import slug_of
from walks.views import documents as pages

pytestmark = pytest.mark.database

TAXON = GARLIC[0]
WHY = "The leaf was described wrongly."


@pytest.fixture
def slug(world: World, now: datetime, tmp_path: Path, settings: object) -> object:
    """The address of a walk whose booklet holds the sheet and lies ready."""
    settings.MEDIA_ROOT = tmp_path / "media"  # type: ignore[attr-defined]
    (tmp_path / "files").mkdir()
    load_starter(garlic_files(tmp_path / "files"), by="command", now=now)
    ThemeTaxon.objects.create(theme=world.theme, taxon=version_in_use().taxon, place=0)
    with time_machine.travel(now, tick=False):
        documents.want_booklet(documents.session_now(world.offering, now), now)
        build(now)
        yield slug_of(world.offering.public_id)


def version_in_use() -> AccountVersion:
    return accounts_in_use()[TAXON].version


def build(now: datetime) -> None:
    """The worker, without the layout."""
    made = Pdf(f"%PDF-1.7 {Document.objects.count()}".encode(), 2)
    with patch("curriculum.services.build_document.render_pdf", return_value=made):
        build_next_document(now=now)


def withdraw(world: World, now: datetime) -> AccountVersion:
    version = version_in_use()
    withdraw_account(version, reason=WHY, by=world.rosa, now=now)
    return version


def test_the_page_of_the_species_says_withdrawn_and_why(client: Client, slug: str, world: World, now: datetime) -> None:
    species = reverse("species_page", args=[species_slug()])
    assert client.get(species).status_code == 200
    withdraw(world, now)
    gone = client.get(species)
    assert gone.status_code == 410
    assert "Withdrawn" in gone.content.decode()
    assert WHY in gone.content.decode()
    sheet = client.get(reverse("species_sheet", args=[species_slug()]))
    assert (sheet.status_code, sheet["Location"]) == (302, species)


def species_slug() -> str:
    return species_slugs()[Taxon.objects.get(key=TAXON).public_id]


def test_a_cached_booklet_is_not_called_unchanged(client: Client, slug: str, world: World, now: datetime) -> None:
    address = reverse("walk_handout", args=[slug])
    served = client.get(address)
    assert served.status_code == 200
    version = withdraw(world, now)
    again = client.get(address, headers={"if-none-match": served["ETag"]})
    assert again.status_code == 202
    newest = Document.objects.latest("pk")
    assert version not in newest.versions.all()


def test_the_link_of_a_booking_gives_it_no_more(client: Client, slug: str, world: World, now: datetime) -> None:
    booking = book_places(world.order(), by="public", now=now)
    token = make_link("booking", booking.public_id, expires_at=now + timedelta(days=60), now=now)
    address = reverse("booking_handout", args=[token])
    assert client.get(address).status_code == 200
    withdraw(world, now)
    assert client.get(address).status_code == 202
    build(now)
    assert client.get(address).getvalue() == b"%PDF-1.7 2"


def test_the_feed_leads_to_what_is_in_use(client: Client, slug: str, world: World, now: datetime) -> None:
    withdraw(world, now)
    feed = client.get(reverse("walks_feed")).content.decode().replace("\r\n ", "")
    assert reverse("walk_handout", args=[slug]) in feed
    assert "/documents/" not in feed
    assert client.get(reverse("walk_handout", args=[slug])).status_code == 202


def test_what_was_withdrawn_while_it_was_asked_for_is_not_served(
    client: Client, slug: str, world: World, now: datetime
) -> None:
    """The withdrawal commits after the request has chosen its document."""
    chosen = Document.objects.get()
    withdraw(world, now)
    with patch.object(pages, "want_booklet", return_value=chosen):
        assert client.get(reverse("walk_handout", args=[slug])).status_code == 202


def test_one_withdrawn_with_a_later_version_is_held_back_too(slug: str, world: World, now: datetime) -> None:
    document, old = Document.objects.get(), version_in_use()
    later = AccountVersion.objects.create(
        taxon=old.taxon,
        number=old.number + 1,
        body=old.body,
        sha256="e" * 64,
        vocabulary_version=old.vocabulary_version,
        edibility=old.edibility,
        role=old.role,
        origin="person",
        created_at=now,
    )
    assert not holds_withdrawn(document)
    withdraw_account(later, reason=WHY, by=world.rosa, now=now)
    assert holds_withdrawn(document)
