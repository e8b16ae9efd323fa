"""The audit: append-only, refused UPDATE and DELETE by trigger."""

from django.db import models


class AuditLine(models.Model):
    """One act: who did what to which object, which fields, why. Never the values of personal fields."""

    at = models.DateTimeField()
    actor = models.CharField(max_length=40, help_text='Public id of the staff account, or a word such as "worker".')
    act = models.CharField(max_length=60)
    object_kind = models.CharField(max_length=40)
    object_id = models.CharField(max_length=20)
    fields = models.JSONField(default=list, blank=True)
    reason = models.CharField(max_length=500, blank=True)

    class Meta:
        indexes = [
            # The history shown on a walk's or a booking's staff page.
            models.Index(fields=["object_id", "at"], name="audit_by_object"),
        ]

    def __str__(self) -> str:
        return f"{self.at:%Y-%m-%d %H:%M} {self.actor} {self.act} {self.object_kind} {self.object_id}"
