"""Take a document off a permission: the row and the file."""

from __future__ import annotations

from datetime import datetime

from django.core.files.storage import default_storage
from django.db import transaction

from foraywright.floor.acts import By, act, record
from walks.models import PermissionDocument


@act
def remove_document(document: PermissionDocument, *, by: By, now: datetime) -> None:
    """Erase `document`. The file goes once the row is gone for good: a row without its file would be a broken link."""
    stored_as = document.stored_as
    record("remove document", document.permission, by=by, now=now)
    document.delete()
    transaction.on_commit(lambda: default_storage.delete(stored_as))
