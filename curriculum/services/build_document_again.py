"""Have the worker try once more at a PDF that it gave up."""

from __future__ import annotations

from datetime import datetime

from curriculum.models import Document
from foraywright.floor.acts import act, record
from foraywright.floor.models import User


@act
def build_document_again(document: Document, *, by: User, now: datetime) -> bool:
    """Put it back among the worker's work, with all its attempts; whether it was given up until now."""
    given_up = Document.objects.filter(pk=document.pk, done_at=None).exclude(given_up_at=None)
    again = given_up.update(given_up_at=None, attempts=0, due_at=now, lease_until=None, last_error="")
    if again:
        record("build document again", document, by=by, now=now, fields=("given_up_at",))
    return bool(again)
