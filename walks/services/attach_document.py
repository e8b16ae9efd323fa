"""Attach the landowner's letter to a permission, as a PDF or a picture of it."""

from __future__ import annotations

from datetime import datetime

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage

from foraywright.floor.acts import By, act, record
from walks.compute.file_kinds import kind_of
from walks.errors import PaperNotSaved
from walks.models import LandownersPermission, PermissionDocument
from walks.pictures import PictureRefused, redrawn

MOST_BYTES = 10 * 1024 * 1024


@act
def attach_document(permission: LandownersPermission, content: bytes, *, by: By, now: datetime) -> PermissionDocument:
    """Keep `content` under a name of ours. Raises PaperNotSaved where it is too large or is what we do not keep.

    A picture is drawn anew, without what the camera wrote into it; a PDF is kept as it came. The file is written before
    the row and taken away again if the row cannot be.
    """
    kept, kind = _checked(content)
    document = PermissionDocument(permission=permission, kind=kind, size=len(kept), attached_at=now)
    default_storage.save(document.stored_as, ContentFile(kept))
    try:
        document.save()
        record("attach document", permission, by=by, now=now)
    except BaseException:
        default_storage.delete(document.stored_as)
        raise
    return document


def _checked(content: bytes) -> tuple[bytes, str]:
    if len(content) > MOST_BYTES:
        raise _refusal(f"It has {len(content) / 1024 / 1024:.1f} MB; up to {MOST_BYTES // 1024 // 1024} MB are kept.")
    kind = kind_of(content)
    if kind is None:
        raise _refusal("It is no whole PDF, JPEG or PNG, whatever its name says.")
    try:
        return (content if kind == "pdf" else redrawn(content, kind)), kind
    except PictureRefused as fault:
        raise _refusal(str(fault)) from fault


def _refusal(why: str) -> PaperNotSaved:
    return PaperNotSaved(
        "The document was not attached.",
        why=[why],
        became="The permission stands as it was.",
        now="Choose a PDF, or a photograph as JPEG or PNG.",
        field="document",
    )
