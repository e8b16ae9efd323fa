"""What became different about a walk that people may have booked: the room above claims the row and tells them."""

from __future__ import annotations

from django.db import models

from foraywright.floor.ids import new_public_id
from foraywright.floor.leases import LeasedRow
from walks.models.offerings import Walk


class WalkChange(LeasedRow):
    """One change of one published walk. `what` holds {"field", "label", "before", "after"}, in words for a reader.

    `material` (our rule): another day, start, length or place. Whoever booked before it may leave free of charge.
    """

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    walk = models.ForeignKey(Walk, on_delete=models.CASCADE, related_name="changes")
    at = models.DateTimeField()
    by = models.CharField(max_length=40, help_text="Public id of the staff account, or a word")
    why = models.CharField(max_length=300, help_text="As everybody who booked reads it")
    what = models.JSONField()
    material = models.BooleanField()

    class Meta:
        ordering = ["at", "pk"]
        indexes = [
            # The worker's next change to tell of.
            models.Index(fields=["done_at", "due_at"], name="changes_due"),
        ]

    def __str__(self) -> str:
        return f"{self.walk}: {', '.join(one['field'] for one in self.what)}"
