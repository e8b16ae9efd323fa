"""Documents of a permission: what is kept, under what name, who gets it, and what a picture loses."""

from __future__ import annotations

import struct
import zlib
from io import BytesIO
from pathlib import Path

import pytest
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image

from foraywright.floor.models import AuditLine
from tests.cast import World
from tests.pages import signed_in, words_of
from tests.walks.sent import field_error
from walks.errors import PaperNotSaved
from walks.models import LandownersPermission, PermissionDocument
from walks.services.attach_document import MOST_BYTES, attach_document
from walks.services.remove_document import remove_document

pytestmark = pytest.mark.database
PDF = b"%PDF-1.7\n1 0 obj\n<<>>\nendobj\ntrailer <<>>\n%%EOF\n"
GPS, MAKE = 0x8825, 0x010F


def picture(kind: str = "JPEG", **saved: object) -> bytes:
    target = BytesIO()
    Image.new("RGB", (40, 30), (200, 120, 40)).save(target, kind, **saved)
    return target.getvalue()


def photograph() -> bytes:
    """A picture that says where and with what it was taken."""
    facts = Image.Exif()
    facts[MAKE] = "Cameraworks"
    facts.get_ifd(GPS)[1] = "N"
    return picture(exif=facts.tobytes(), comment=b"Cameraworks")


def stored() -> set[Path]:
    folder = Path(settings.MEDIA_ROOT) / "permissions"
    return set(folder.iterdir()) if folder.exists() else set()


@pytest.fixture
def permission(world: World, tmp_path: Path, settings: object) -> LandownersPermission:
    settings.MEDIA_ROOT = tmp_path  # type: ignore[attr-defined]
    return LandownersPermission.objects.get()


def test_a_pdf_is_kept_as_it_is_under_a_name_of_ours(world: World, permission: LandownersPermission) -> None:
    document = attach_document(permission, PDF, by=world.olive, now=world.now)
    [file] = stored()
    assert file.name == f"{document.public_id}.pdf"
    assert file.read_bytes() == PDF
    assert AuditLine.objects.filter(act="attach document", object_id=permission.public_id).exists()


@pytest.mark.parametrize(("content", "kind"), [(photograph(), "JPEG"), (picture("PNG"), "PNG")])
def test_a_picture_keeps_its_pixels_alone(
    world: World, permission: LandownersPermission, content: bytes, kind: str
) -> None:
    assert kind != "JPEG" or b"Cameraworks" in content
    attach_document(permission, content + b"<script>after the end</script>", by=world.olive, now=world.now)
    [file] = stored()
    with Image.open(file) as kept:
        assert (kept.format, kept.size) == (kind, (40, 30))
        assert not kept.getexif()
        colour = kept.getpixel((20, 15))
    assert all(abs(a - b) < 8 for a, b in zip(colour, (200, 120, 40), strict=True))
    assert b"Cameraworks" not in file.read_bytes()
    assert b"script" not in file.read_bytes()


def bomb(side: int) -> bytes:
    """A PNG of a hundred bytes that says it measures `side` by `side`."""

    def chunk(name: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))

    head = struct.pack(">IIBBBBB", side, side, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"")) + chunk(b"IEND", b"")


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"", "no whole PDF, JPEG or PNG"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'><script/></svg>", "no whole PDF, JPEG or PNG"),
        (b"%!PS-Adobe-3.0 EPSF-3.0", "no whole PDF, JPEG or PNG"),
        (b"GIF89a" + PDF, "no whole PDF, JPEG or PNG"),
        (PDF[:-8], "no whole PDF, JPEG or PNG"),
        (picture()[:200], "cannot be drawn"),
        (b"\x89PNG\r\n\x1a\n and no more", "cannot be drawn"),
        (bomb(50_000), "more than 40 million pixels"),
        (bomb(6_400), "more than 40 million pixels"),
        (b"%PDF-" + b"x" * MOST_BYTES + b"%%EOF", "10.0 MB; up to 10 MB are kept"),
    ],
)
def test_what_is_not_kept(world: World, permission: LandownersPermission, content: bytes, why: str) -> None:
    with pytest.raises(PaperNotSaved) as refused:
        attach_document(permission, content, by=world.olive, now=world.now)
    assert why in refused.value.sentence
    assert "The permission stands as it was." in refused.value.sentence
    assert stored() == set()
    assert not PermissionDocument.objects.exists()


def test_no_file_stays_where_the_row_could_not_be_written(
    world: World, permission: LandownersPermission, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: object, **__: object) -> None:
        raise RuntimeError("the disk is full")

    monkeypatch.setattr("walks.services.attach_document.record", fails)
    with pytest.raises(RuntimeError):
        attach_document(permission, PDF, by=world.olive, now=world.now)
    assert stored() == set()


def test_sent_by_the_page_it_comes_back_as_a_download(world: World, permission: LandownersPermission) -> None:
    client = signed_in(world.gwen.user)
    sent = {"document": SimpleUploadedFile("../../etc/letter of Mrs Brown.pdf", PDF, "text/html")}
    answer = client.post(f"/staff/permissions/{permission.public_id}/attach/", sent, follow=True)
    assert "The document is attached." in words_of(answer.content)
    document = PermissionDocument.objects.get()
    got = client.get(f"/staff/documents/{document.public_id}/")
    assert b"".join(got.streaming_content) == PDF
    assert got["Content-Disposition"] == f'attachment; filename="permission-{document.public_id}.pdf"'
    assert (got["Content-Type"], got["X-Content-Type-Options"]) == ("application/pdf", "nosniff")
    for stranger in (Client(), signed_in(world.rosa)):
        assert stranger.get(f"/staff/documents/{document.public_id}/").status_code in (302, 403)


def test_the_page_says_why_a_file_is_refused(world: World, permission: LandownersPermission) -> None:
    sent = {"document": SimpleUploadedFile("letter.pdf", b"MZ\x90", "application/pdf")}
    answer = signed_in(world.olive).post(f"/staff/permissions/{permission.public_id}/attach/", sent)
    assert answer.status_code == 422
    assert "no whole PDF, JPEG or PNG, whatever its name says" in field_error(answer.content, "document")


@pytest.mark.django_db(transaction=True)
def test_erased_is_erased(real_world: World, tmp_path: Path, settings: object) -> None:
    settings.MEDIA_ROOT = tmp_path  # type: ignore[attr-defined]
    permission = LandownersPermission.objects.get()
    document = attach_document(permission, PDF, by=real_world.olive, now=real_world.now)
    remove_document(document, by=real_world.olive, now=real_world.now)
    assert stored() == set()
    assert not PermissionDocument.objects.exists()
