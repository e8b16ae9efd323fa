"""Build one wanted PDF: the layout runs outside any transaction, in a child that can be killed."""

from __future__ import annotations

import hashlib
from datetime import datetime

from django.core.files.base import ContentFile

from curriculum.models import Document
from foraywright.floor.leases import claim, finish, put_off
from foraywright.floor.pdf import Pdf, PdfFailed, render_pdf

SECONDS = 150


def build_next_document(*, now: datetime) -> Document | None:
    """Claim the next wanted document and build it; None where nothing is due. A failure is put off, staff see it."""
    document = claim(Document, now=now)
    if document is None:
        return None
    try:
        pdf = render_pdf(document.html, identifier=document.manifest_hash, seconds=SECONDS)
    except PdfFailed as failed:
        put_off(document, str(failed), now=now)
        return document
    _keep(document, pdf)
    finish(document, now=now)
    return document


def _keep(document: Document, pdf: Pdf) -> None:
    document.file.save(f"{document.kind}-{document.manifest_hash[:24]}.pdf", ContentFile(pdf.content), save=False)
    document.sha256 = hashlib.sha256(pdf.content).hexdigest()
    document.pages, document.size, document.html = pdf.pages, len(pdf.content), ""
    document.save(update_fields=["file", "sha256", "pages", "size", "html"])
