"""Ask for a PDF. The worker builds it; the same content is never built twice."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from datetime import datetime

from curriculum.models import AccountVersion, Document, DocumentContent
from foraywright.floor.acts import act
from foraywright.floor.print_assets import assets_hash


@act
def want_document(
    kind: str,
    subject_id: str,
    html: str,
    *,
    versions: Iterable[AccountVersion] = (),
    language: str = "en-GB",
    variant: str = "standard",
    now: datetime,
) -> Document:
    """Return the document whose content is `html`, asking for it where it does not exist yet.

    The key is the hash of the manifest: what is printed, the accounts in it, fonts and style, language and variant.
    """
    versions = list(versions)
    manifest = {
        "kind": kind,
        "accounts": {one.taxon.key: one.sha256 for one in versions},
        "text": hashlib.sha256(html.encode("utf-8")).hexdigest(),
        "assets": assets_hash(),
        "language": language,
        "variant": variant,
    }
    key = hashlib.sha256(repr(sorted(manifest.items())).encode("utf-8")).hexdigest()
    document, new = Document.objects.get_or_create(
        manifest_hash=key,
        defaults={
            "kind": kind,
            "subject_id": subject_id,
            "manifest": manifest,
            "language": language,
            "variant": variant,
            "html": html,
            "wanted_at": now,
            "due_at": now,
        },
    )
    if new:
        DocumentContent.objects.bulk_create(DocumentContent(document=document, version=one) for one in versions)
    return document
