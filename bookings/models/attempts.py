"""How often somebody tried something: the row that a limit locks."""

from __future__ import annotations

from django.db import models


class AttemptCount(models.Model):
    """Attempts of one kind by one contact or address, which is kept as a keyed digest only and for a day at most."""

    kind = models.CharField(max_length=20)
    who = models.CharField(max_length=64, help_text="Keyed digest of the address: it names nobody")
    since = models.DateTimeField(help_text="Begin of the time that is counted")
    number = models.PositiveIntegerField(default=0)

    class Meta:
        constraints = [
            # The row that is locked while it is raised: two attempts at once are counted as two.
            models.UniqueConstraint(fields=["kind", "who"], name="one_count_a_kind_and_address"),
        ]

    def __str__(self) -> str:
        return f"{self.number} {self.kind} since {self.since:%Y-%m-%d %H:%M}"
