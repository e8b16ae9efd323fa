"""Build one wanted PDF: the layout runs outside any transaction, in a child that can be killed."""

from __future__ import annotations

import hashlib
from datetime import datetime

from django.core.files.base import ContentFile
from django.db.models import F, Q

from curriculum.models import Document
from foraywright.floor.leases import claim, finish, give_up, put_off
from foraywright.floor.pdf import Pdf, PdfFailed, render_pdf

SECONDS = 150
WITHDRAWN = "An account in it has been withdrawn."


def build_next_document(*, now: datetime) -> Document | None:
    """Claim the next wanted document and build it; None where nothing is due. A failure is put off, staff see it."""
    document = claim(Document, now=now)
    if document is None:
        return None
    if holds_withdrawn(document):
        give_up(document, WITHDRAWN, now=now)
        return document
    try:
        pdf = render_pdf(document.html, identifier=document.manifest_hash, seconds=SECONDS)
    except PdfFailed as failed:
        put_off(document, str(failed), now=now)
        return document
    if holds_withdrawn(document):  # while it was being set
        give_up(document, WITHDRAWN, now=now)
        return document
    _keep(document, pdf)
    finish(document, now=now)
    return document


def holds_withdrawn(document: Document) -> bool:
    """Whether an account in the document has been withdrawn, itself or with a later one. One query."""
    withdrawn = Q(taxon__versions__withdrawal__isnull=False, taxon__versions__number__gte=F("number"))
    return document.versions.filter(withdrawn).exists()


def _keep(document: Document, pdf: Pdf) -> None:
    document.file.save(f"{document.kind}-{document.manifest_hash[:24]}.pdf", ContentFile(pdf.content), save=False)
    document.sha256 = hashlib.sha256(pdf.content).hexdigest()
    document.pages, document.size, document.html = pdf.pages, len(pdf.content), ""
    document.save(update_fields=["file", "sha256", "pages", "size", "html"])
