"""Copies of a walk's register on devices: who took one, until when it is kept there, and whether it was called back."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from foraywright.floor.ids import new_public_id
from walks.models import Walk


class RegisterCopy(models.Model):
    """One sealed copy on one device. What it holds is never kept here, only that it exists: a lost phone is revoked."""

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    walk = models.ForeignKey(Walk, on_delete=models.CASCADE, related_name="register_copies")
    taken_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    taken_at = models.DateTimeField()
    kept_until = models.DateTimeField(help_text="When the device deletes it")
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return self.public_id
