"""The words of letters as the office wrote them, every version."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from bookings.models.messages import OutboxMessage

ENGLISH = "en-GB"


class LetterText(models.Model):
    """One version of the words of one kind of letter; the newest is in use. Empty words: back to ours. Append-only:
    what somebody was sent must be found again."""

    kind = models.CharField(max_length=20, choices=OutboxMessage.Kind)
    language = models.CharField(max_length=8, default=ENGLISH)
    number = models.PositiveIntegerField()
    subject = models.CharField(max_length=120, blank=True)
    body = models.TextField(blank=True)
    author = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        constraints = [
            # Two people who save at once make two versions, never one that is half of each.
            models.UniqueConstraint(fields=["kind", "language", "number"], name="one_letter_text_a_number"),
            # Half a letter would be sent as one.
            models.CheckConstraint(
                condition=models.Q(subject="", body="") | ~models.Q(subject="") & ~models.Q(body=""),
                name="a_letter_text_is_whole",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}, version {self.number}"
