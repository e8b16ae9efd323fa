"""Copies of a walk's register on devices: who took one, until when it is kept there, and whether it was called back."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from foraywright.floor.ids import new_public_id
from foraywright.floor.sealed import SealedField
from walks.models import Walk


class RegisterCopy(models.Model):
    """One sealed copy on one device. What it holds is never kept here, only that it exists: a lost phone is revoked."""

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    walk = models.ForeignKey(Walk, on_delete=models.CASCADE, related_name="register_copies")
    taken_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    taken_at = models.DateTimeField()
    device = models.UUIDField(null=True, blank=True, help_text="Made at random on the device")
    device_name = models.CharField(max_length=40, blank=True, help_text="As the guide calls it")
    # Its public half goes along: what a guide types without signal is sealed for us alone, and lies open nowhere.
    private_key = SealedField(null=True)
    kept_until = models.DateTimeField(help_text="When the device deletes it")
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return self.device_name or "a device without a name"
