"""The audit: append-only, refused UPDATE and DELETE by trigger. What somebody wrote of why lies apart, and can go."""

from __future__ import annotations

from django.db import models

from foraywright.floor.ids import new_public_id
from foraywright.floor.sealed import NotOpened, SealedField

ERASED = "(what was written of why is erased)"
SHUT = "(what was written of why does not open)"


class AuditLine(models.Model):
    """One act: who did what to which object, which fields, why. Never the values of personal fields."""

    at = models.DateTimeField()
    actor = models.CharField(max_length=40, help_text='Public id of the staff account, or a word such as "worker".')
    act = models.CharField(max_length=60)
    object_kind = models.CharField(max_length=40)
    object_id = models.CharField(max_length=20)
    fields = models.JSONField(default=list, blank=True)
    reason = models.CharField(max_length=500, blank=True, help_text="Written by us, or said to everybody")

    class Meta:
        indexes = [
            # The history shown on a walk's or a booking's staff page.
            models.Index(fields=["object_id", "at"], name="audit_by_object"),
        ]

    @property
    def why(self) -> str:
        """Why it was done, in our words or in those of whoever did it. No query where `words` is selected."""
        words = getattr(self, "words", None)
        if words is None:
            return self.reason
        try:
            return words.said or ERASED
        except NotOpened:  # one of them must not take the list of acts with it
            return SHUT

    def __str__(self) -> str:
        return f"{self.at:%Y-%m-%d %H:%M} {self.actor} {self.act} {self.object_kind} {self.object_id}"


class ActWords(models.Model):
    """What somebody wrote of why they did an act. Asked for without names, it may hold one all the same: so it is
    sealed, and emptied with what it is about, while the line of the act stays."""

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    line = models.OneToOneField(AuditLine, on_delete=models.PROTECT, related_name="words")
    said = SealedField(null=True)

    def __str__(self) -> str:
        return self.public_id
