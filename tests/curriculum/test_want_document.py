"""Asking for a PDF: the same content once, whatever it is asked for; and building it."""

from __future__ import annotations

import hashlib
from datetime import timedelta
from functools import partial
from pathlib import Path

import pytest

from curriculum.models import AccountVersion, Document
from curriculum.queries import accounts_in_use
from curriculum.services.build_document import build_next_document
from curriculum.services.load_starter import load_starter
from curriculum.services.want_document import want_document
from foraywright.floor.pdf import Pdf, PdfFailed
from tests.bookings.race import together
from tests.conftest import NOW
from tests.curriculum.garlic import garlic_files

pytestmark = [pytest.mark.database, pytest.mark.django_db]
HTML = "<p>Garlic</p>"


@pytest.fixture
def versions(tmp_path: Path) -> list[AccountVersion]:
    load_starter(garlic_files(tmp_path), by="command", now=NOW)
    return [one.version for one in accounts_in_use().values()]


def want(html: str = HTML, versions: tuple[AccountVersion, ...] = (), **changes: object) -> Document:
    values = {"kind": "booklet", "subject_id": "a-walk", "now": NOW} | changes
    kind, subject = values.pop("kind"), values.pop("subject_id")
    return want_document(kind, subject, html, versions=versions, **values)  # type: ignore[arg-type]


def test_is_asked_for_with_its_manifest_and_contents(versions: list[AccountVersion]) -> None:
    document = want(versions=tuple(versions))
    assert (document.html, document.wanted_at, document.due_at, document.is_ready) == (HTML, NOW, NOW, False)
    assert document.manifest["accounts"] == {one.taxon.key: one.sha256 for one in versions}
    assert document.manifest["text"] == hashlib.sha256(HTML.encode()).hexdigest()
    assert set(document.versions.all()) == set(versions)


def test_the_same_content_is_one_document_whenever_it_is_asked_for(versions: list[AccountVersion]) -> None:
    first = want(versions=tuple(versions))
    again = want(versions=tuple(versions), now=NOW + timedelta(days=1))
    assert (again.pk, again.wanted_at) == (first.pk, NOW)
    assert first.contents.count() == len(versions)


def test_any_other_content_is_another_document(versions: list[AccountVersion]) -> None:
    documents = [
        want(versions=tuple(versions)),
        want("<p>Other</p>", tuple(versions)),
        want(versions=tuple(versions[1:])),
        want(versions=tuple(versions), language="de"),
        want(versions=tuple(versions), variant="large print"),
        want(versions=tuple(versions), kind="sheet"),
    ]
    assert len({one.pk for one in documents}) == len(documents)


@pytest.mark.django_db(transaction=True)
def test_asked_for_by_six_at_once_it_is_one_document() -> None:
    outcomes = together([partial(lambda: want().pk)] * 6)
    assert {one.kind for one in outcomes} == {"done"}
    assert len({one.words for one in outcomes}) == Document.objects.count() == 1


def test_is_built_once_and_kept_with_its_hash(monkeypatch: pytest.MonkeyPatch) -> None:
    document = want()
    made: list[str] = []

    def render(html: str, *, identifier: str, seconds: int) -> Pdf:
        made.append(f"{html} {identifier}")
        return Pdf(b"%PDF-made", 3)

    monkeypatch.setattr("curriculum.services.build_document.render_pdf", render)
    assert build_next_document(now=NOW - timedelta(seconds=1)) is None
    assert build_next_document(now=NOW) == document
    assert build_next_document(now=NOW + timedelta(days=1)) is None
    assert made == [f"{HTML} {document.manifest_hash}"]
    document.refresh_from_db()
    assert document.is_ready
    assert (document.pages, document.size, document.html) == (3, 9, "")
    assert document.sha256 == hashlib.sha256(b"%PDF-made").hexdigest()
    assert document.file.read() == b"%PDF-made"


def test_a_failure_is_put_off_and_said(monkeypatch: pytest.MonkeyPatch) -> None:
    def render(html: str, **_: object) -> Pdf:
        raise PdfFailed("It took too long.")

    monkeypatch.setattr("curriculum.services.build_document.render_pdf", render)
    document = want()
    build_next_document(now=NOW)
    document.refresh_from_db()
    assert (document.last_error, document.done_at, document.html) == ("It took too long.", None, HTML)
    # Retries are spread: up to a fifth earlier than half a minute from now.
    assert timedelta(seconds=24) <= document.due_at - NOW <= timedelta(seconds=30)
